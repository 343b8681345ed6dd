"""What stands on the page of the cutting bench."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import Final
from urllib.parse import urlencode

from django.urls import reverse

from fraginv.base.errors import Conflict, NotFound
from fraginv.base.models import Code, Person
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.front.queries.rows import codes_ending_in, resting_until
from fraginv.stock.models import Colony, Cutting
from fraginv.stock.queries.bench import cut_lately, labels_to_print, may_be_cut, sitting_of
from fraginv.stock.queries.colonies import colonies, colony_list
from fraginv.stock.queries.frags import frag_by_code

LATELY: Final = 4
SHOWN: Final = 8
FOUND: Final = 40
MOST_LABELS: Final = 200


@dataclass(frozen=True)
class BenchRow:
    """A colony to cut; ``rests_until`` only while it rests."""

    colony: Colony
    rests_until: date | None


@dataclass(frozen=True)
class Sitting:
    """What a person cut today, and the address of labels that are not printed yet."""

    cuttings: Sequence[Cutting]
    labels: int
    labels_url: str

    @property
    def pieces(self) -> int:
        """Return the living pieces of all cuttings."""
        return sum(cutting.pieces for cutting in self.cuttings)

    @property
    def lost(self) -> int:
        """Return the pieces that were lost at the bench."""
        return sum(cutting.lost for cutting in self.cuttings)


@dataclass(frozen=True)
class BenchPage:
    """Which colony next, and what was cut so far."""

    sitting: Sitting
    lately: Sequence[BenchRow]
    rested: Sequence[BenchRow]


def bench_page(person: Person) -> BenchPage:
    """Return what a person's page of the bench shows.

    Queries: 3, and 1 more where something was cut today.
    """
    lately = cut_lately(most=LATELY)
    shown = {colony.pk for colony in lately}
    rested = [one for one in may_be_cut(today(), most=2 * SHOWN) if one.pk not in shown]
    return BenchPage(sitting_now(person), rows_of(lately), rows_of(rested[:SHOWN]))


def sitting_now(person: Person) -> Sitting:
    """Return what a person cut today.

    Queries: 1, and 1 more where there is anything.
    """
    cuttings = sitting_of(person, day=today())
    codes = labels_to_print(cuttings, most=MOST_LABELS) if cuttings else []
    asked = urlencode({"codes": codes}, doseq=True)
    return Sitting(cuttings, len(codes), f"{reverse('labels:print')}?{asked}")


def is_of_sitting(cutting: Cutting, *, person: Person) -> bool:
    """Tell whether a person recorded a cutting today, and may be on the way to the next."""
    return cutting.by_id == person.pk and cutting.day == today()


def rows_of(found: Sequence[Colony]) -> list[BenchRow]:
    """Return colonies with how long they still rest."""
    return [BenchRow(colony, resting_until(colony)) for colony in found]


@dataclass(frozen=True)
class Asked:
    """What was typed or scanned at the bench means: colonies, or a blank label."""

    rows: Sequence[BenchRow] = ()
    label: str = ""
    said: str = ""


def asked_at_bench(text: str) -> Asked:
    """Return what a code, the last three characters of one, or a name means at the bench.

    Raises: CodeError for a code with a wrong character; NotFound for one that leads to no colony.
    Queries: 1 to 4.
    """
    plain = "".join(text.split()).replace("-", "").upper()
    if len(plain) == 3:
        ending = colonies().filter(code__in=codes_ending_in(plain))[:FOUND]
        if ending:
            return Asked(rows_of(list(ending)))
    with suppress(CodeError):
        return meaning_of(read_code(text))
    if any(character.isdigit() for character in plain) and len(plain) >= 6:
        read_code(text)
    return Asked(rows_of(colony_list(text=text, most=FOUND)))


def meaning_of(code: str) -> Asked:
    """Return the colony that carries a code, or from which the frag with it was cut.

    Raises: NotFound; Conflict for a frag without a colony.
    Queries: 2 or 3.
    """
    known = get_code(code)
    if known.kind == Code.Kind.BLANK:
        return Asked(label=code)
    if known.kind == Code.Kind.COLONY:
        return Asked(rows_of(list(colonies().filter(code_id=code))))
    if known.kind == Code.Kind.FRAG:
        colony = frag_by_code(code).colony
        if colony is None:
            raise Conflict(
                f"{show_code(code)} is a frag of no colony here. Open it to cut it again."
            )
        said = f"{show_code(code)} is a frag of this colony."
        return Asked(rows_of(list(colonies().filter(pk=colony.pk))), said=said)
    raise NotFound(f"{show_code(code)} is not a colony. Scan the colony's label.")
