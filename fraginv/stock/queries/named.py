"""What tables may name: varieties, colonies, racks, labels, and the old codes that are taken."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from typing import Final

from django.db.models import F, Q

from fraginv.base.errors import InputError
from fraginv.base.models import Code, OldCode
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.base.rules.known import MOST_HINTS, Known, fold
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.stock.models import Colony, Frag, Rack, Variety
from fraginv.stock.queries.places import racks
from fraginv.stock.rules.colonies import State

BATCH: Final = 500
PARTED: Final = re.compile("[/,:]")
LIVES: Final = (
    Q(code__frag__pieces__gte=1)
    | Q(code__colony__state=State.LIVING.value)
    | Q(code__rack__isnull=False)
)


def batches(values: Iterable[str]) -> Iterator[list[str]]:
    """Yield values in their order, as many at once as one statement takes on any engine."""
    ordered = sorted(set(values))
    for start in range(0, len(ordered), BATCH):
        yield ordered[start : start + BATCH]


def known_varieties() -> Known[Variety]:
    """Return all varieties by their names.

    Queries: 1.
    """
    return Known(
        {fold(variety.name): (variety.name, variety) for variety in Variety.objects.all()},
        what="a known variety",
        mend="Mend the name, or load the variety first.",
    )


class KnownRacks:
    """Racks by their codes, and by their paths: rack, trough / rack, system / trough / rack.

    Commas and colons part as slashes do, since pages write *Display: Long trough, rack A*.
    """

    def __init__(self, rows: Iterable[Rack]) -> None:
        self.by_code: dict[str, Rack] = {}
        self.by_path: dict[str, list[Rack]] = defaultdict(list)
        self.hinted = 0
        for rack in rows:
            self.by_code[rack.code_id] = rack
            parts = [rack.trough.system.name, rack.trough.name, rack.name]
            for start in range(len(parts)):
                self.by_path[fold_path("/".join(parts[start:]))].append(rack)

    def find(self, text: str) -> Rack:
        """Return the rack that a text names.

        Raises: InputError for none, or for several, saying what to write.
        """
        found = self.by_path.get(fold_path(text), [])
        if len(found) == 1:
            return found[0]
        if found:
            named = "; ".join(path_of(rack) for rack in found[:3])
            raise InputError(f"{text} may be one of several racks. Write which: {named}.")
        try:
            return self.by_code[read_code(text)]
        except (CodeError, KeyError) as error:
            raise InputError(
                f"{text} is no rack here.{self.hint(text)} Write system / trough / rack, or the "
                "rack's code; racks are added under Places."
            ) from error

    def hint(self, text: str) -> str:
        """Name a rack whose path is much like a text, if there is one, for the first such texts.

        Looking takes time for each.
        """
        self.hinted += 1
        if self.hinted > MOST_HINTS:
            return ""
        near = get_close_matches(fold_path(text), list(self.by_path), n=1)
        return f" The nearest is {path_of(self.by_path[near[0]][0])}." if near else ""


def fold_path(text: str) -> str:
    """Return a rack's path for comparing."""
    return "/".join(fold(part) for part in PARTED.split(text))


def path_of(rack: Rack) -> str:
    """Return where a rack stands, as tables name it."""
    return f"{rack.trough.system.name} / {rack.trough.name} / {rack.name}"


def known_racks() -> KnownRacks:
    """Return all racks by what tables may name them by.

    Queries: 1.
    """
    return KnownRacks(racks())


class KnownColonies:
    """Colonies by their codes, and by their old codes."""

    def __init__(self, by_code: Mapping[str, Colony], by_old_code: Mapping[str, Colony]) -> None:
        self.by_code = by_code
        self.by_old_code = by_old_code

    def find(self, text: str) -> Colony:
        """Return the colony that a text names; a code written as on labels is one.

        Raises: InputError for none, or for one by its code and another by its old code.
        """
        code, folded = code_in(text), fold_old_code(text)
        named, known = self.by_code.get(code), self.by_old_code.get(folded)
        if named is not None and (known in {None, named} or text == show_code(code)):
            return named
        if known is None:
            raise InputError(
                f"{text} is neither the code nor an old code of a colony here. "
                "Load the colonies first, or leave it empty."
            )
        if named is not None:
            raise InputError(
                f"{text} is an old code of {show_code(known.code_id)} and the code of another "
                f"colony. Write {show_code(known.code_id)} or {show_code(code)}."
            )
        return known


def known_colonies() -> KnownColonies:
    """Return all colonies by their codes and by their old codes, of which living ones keep theirs.

    Queries: 2.
    """
    colonies = {colony.pk: colony for colony in Colony.objects.select_related("variety")}
    old = OldCode.objects.filter(code__colony__isnull=False)
    found: dict[str, Colony] = {}
    for folded, pk in old.order_by("pk").values_list("folded", "code__colony"):
        colony = colonies[pk]
        if colony.state == State.LIVING or folded not in found:
            found[folded] = colony
    return KnownColonies({colony.code_id: colony for colony in colonies.values()}, found)


def old_codes_taken(texts: Iterable[str]) -> dict[str, str]:
    """Return which folded old codes are on something that lives, with its code; codes too.

    Queries: 2 for each 500.
    """
    taken: dict[str, str] = {}
    for batch in batches(filter(None, map(fold_old_code, texts))):
        taken |= {
            code: code for code in Code.objects.filter(pk__in=batch).values_list("pk", flat=True)
        }
        there = OldCode.objects.filter(LIVES, folded__in=batch)
        taken |= dict(there.values_list("folded", "code_id"))
    return taken


def labels_named(texts: Sequence[str]) -> dict[str, Code]:
    """Return the codes that stand in texts which can be read as codes.

    Queries: 1 for each 500.
    """
    found: dict[str, Code] = {}
    for batch in batches(filter(None, map(code_in, texts))):
        found |= {code.pk: code for code in Code.objects.filter(pk__in=batch)}
    return found


def frags_named(codes: Iterable[str]) -> dict[str, Frag]:
    """Return frags with their varieties by codes that they have, or had before.

    Queries: 1 for each 500, and 1 for each 500 that no frag has now.
    """
    wanted, found = set(codes), dict[str, Frag]()
    frags = Frag.objects.select_related("variety")
    for batch in batches(wanted):
        found |= {frag.code_id: frag for frag in frags.filter(code__in=batch)}
    for batch in batches(wanted - found.keys()):
        before = frags.filter(code__old_codes__folded__in=batch)
        rows = before.annotate(before=F("code__old_codes__folded")).order_by("pk")
        found |= {vars(frag)["before"]: frag for frag in rows}
    return found


def code_in(text: str) -> str:
    """Return the code in a text, or nothing where there is none that can be read."""
    try:
        return read_code(text) if text else ""
    except CodeError:
        return ""


def holes_taken(rack_ids: Iterable[int]) -> dict[tuple[int, int, int], str]:
    """Return the holes of racks in which something lives, with its code.

    Queries: 1 for each 500 racks.
    """
    found: dict[tuple[int, int, int], str] = {}
    ordered = sorted(set(rack_ids))
    for start in range(0, len(ordered), BATCH):
        there = Frag.objects.filter(
            rack__in=ordered[start : start + BATCH], hole_row__isnull=False, pieces__gte=1
        )
        for code, rack, row, column in there.values_list(
            "code_id", "rack_id", "hole_row", "hole_column"
        ):
            found[rack or 0, row or 0, column or 0] = show_code(code)
    return found
