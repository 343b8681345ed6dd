"""What a scanned text means, and what became of what carries it since."""

from collections.abc import Collection, Iterable
from datetime import date, datetime
from typing import Any, Final

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Code, OldCode
from fraginv.base.queries.codes import get_code
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.base.rules.days import business_day
from fraginv.base.rules.old_codes import fold_old_code
from fraginv.front.queries.rows import codes_ending_in
from fraginv.front.rules.scans import Later, is_end
from fraginv.stock.models import Colony, Frag, FragEvent, Rack
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.frags import code_now

MOST_CHOICES: Final = 12
NOT_FRAGS: Final = {
    Code.Kind.RACK: "is a rack. Scan a frag.",
    Code.Kind.COLONY: "is a colony. Open it to see what can be done with it.",
    Code.Kind.BLANK: "is not in use yet: its label was printed ahead. Scan a frag.",
    Code.Kind.LIST: "is a pick list. Scan a frag.",
}


class Several(Conflict):
    """A text means more than one thing; ``data["choices"]`` names each."""

    code = "several"


def code_meant(text: str, *, racks: bool = False) -> Code:
    """Return the code that was scanned or typed: whole, its last three characters, or an old one.

    Args: ``racks`` are looked for by their last characters too.
    Raises: CodeError for what is no code; NotFound for one that is none of ours; Several
        where more than one thing is meant.
    Queries: 1, and up to 7 for what is no whole code.
    """
    if is_end(text):
        return only_one(text, codes_ending(text.strip(), racks=racks) | old_codes(text))
    try:
        return get_code(read_code(text))
    except (CodeError, NotFound):
        known = old_codes(text)
        if not known:
            raise
        return only_one(text, known)


def label_meant(text: str) -> Code:
    """Return the code whose label was scanned or typed; of a frag that was relabelled, its own.

    Raises: as ``code_meant``.
    Queries: as ``code_meant``, and 1; 2 more for a code that a frag had before.
    """
    code = code_meant(text, racks=True)
    if code.kind != Code.Kind.FRAG or Frag.objects.filter(code=code).exists():
        return code
    now = code_now(code.code)
    return get_code(now) if now else code


def old_codes(text: str) -> set[str]:
    """Return the codes of things that were known under a mark before.

    Queries: 1, or none for a mark of nothing but signs.
    """
    folded = fold_old_code(text)
    found = OldCode.objects.filter(folded=folded) if folded else OldCode.objects.none()
    return set(found.values_list("code_id", flat=True)[:MOST_CHOICES])


def codes_ending(text: str, *, racks: bool) -> set[str]:
    """Return the codes of living frags, and of racks where asked for, that end so.

    Queries: 2, or 3 with racks.
    """
    ending = codes_ending_in(text)
    frags = Frag.objects.filter(LIVES, code__in=ending)
    found = set(frags.values_list("code_id", flat=True)[:MOST_CHOICES])
    if racks:
        found |= set(Rack.objects.filter(code__in=ending).values_list("code_id", flat=True))
    return found


def only_one(text: str, codes: Collection[str]) -> Code:
    """Return the code of the one thing that is meant.

    Raises: NotFound where there is none; Several where there are more.
    Queries: 1, or 3 for the choices.
    """
    if not codes:
        raise NotFound(
            f"Nothing that lives here ends in {text.strip().upper()}. Type the whole code, "
            "or find the piece by its place or variety."
        )
    if len(codes) > 1:
        raise Several(
            f"{text.strip().upper()} may mean more than one thing. Tap the right one.",
            choices=choices_of(codes),
        )
    (code,) = codes
    return get_code(code)


def choices_of(codes: Iterable[str]) -> list[dict[str, str]]:
    """Return things by their codes, each with what tells it from the others.

    Queries: 3, 1 for each kind of thing.
    """
    wanted = sorted(codes)[:MOST_CHOICES]
    frags = Frag.objects.select_related("variety", "rack__trough").filter(code__in=wanted)
    racks = Rack.objects.select_related("trough").filter(code__in=wanted)
    colonies = Colony.objects.select_related("variety").filter(code__in=wanted)
    found = [
        *(choice(f.code_id, f.variety.name, str(f.rack or "not placed")) for f in frags),
        *(choice(rack.code_id, str(rack), "a rack") for rack in racks),
        *(choice(colony.code_id, colony.variety.name, "a colony") for colony in colonies),
    ]
    return sorted(found, key=lambda one: one["code"])


def choice(code: str, name: str, place: str) -> dict[str, str]:
    """Return one thing to choose, as a phone shows it."""
    return {"code": code, "shown": show_code(code), "name": name, "place": place}


def frag_scanned(text: str) -> Frag:
    """Return the frag or lot that was scanned, with its variety and place.

    Raises: as ``code_meant``; InputError for what carries a code and is no frag.
    Queries: as ``code_meant``, and 1; 2 more for a code that a frag had before.
    """
    code = code_meant(text)
    frags = Frag.objects.select_related("variety__genus", "colony", "rack__trough")
    frag = frags.filter(code=code).first()
    if frag is None and code.kind == Code.Kind.FRAG:
        frag = frags.filter(code=code_now(code.code)).first()
    if frag is None:
        words = NOT_FRAGS.get(Code.Kind(code.kind), "is no frag. Scan a frag.")
        raise InputError(f"{show_code(code.code)} {words}")
    return frag


def later_than(moment: datetime, *, frag: Frag) -> list[Later]:
    """Return what happened to a frag after a moment, in the order in which it was written.

    Queries: 1.
    """
    scanned_on = business_day(moment, organisation().zone)
    rows: Iterable[tuple[str, datetime, str, dict[str, Any], date]] = (
        FragEvent.objects.filter(frag=frag, at__gt=moment)
        .order_by("seq")
        .values_list("kind", "at", "by__name", "body", "day")
    )
    return [
        Later(kind, at, by, body, day_after=day > scanned_on) for kind, at, by, body, day in rows
    ]
