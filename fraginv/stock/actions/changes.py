"""What a crew member does to frags that are there: place, grade, set apart, lose."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from typing import Any

from django.db.models import F

from fraginv.base import clock
from fraginv.base.actions.tallies import add_to_tallies
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.claims import end_run_out
from fraginv.stock.actions.log import When, event, when
from fraginv.stock.models import Frag, FragEvent, Rack
from fraginv.stock.queries.frags import frags_with, state_of
from fraginv.stock.rules.events import FragState, Happening, Kind, follow
from fraginv.stock.rules.stages import CAUSES, SIZES, Stage
from fraginv.stock.rules.tallies import tallies_of

COLUMNS = {field.name for field in fields(FragState)}


def change(frags: Iterable[Frag], kind: Kind, *, by: Person, body: Mapping[str, Any]) -> int:
    """Let one and the same event happen to frags; all of them change, or none.

    Each row is written only if nobody changed it since it was read.
    Returns: how many frags.
    Raises: Conflict where the event may not follow, or somebody was faster.
    Queries: 1 per frag, and 1 per 500.
    """
    moment = when()
    written = [change_row(frag, kind, moment=moment, by=by, body=body) for frag in frags]
    FragEvent.objects.bulk_create(written, batch_size=500)
    return len(written)


def change_row(
    frag: Frag, kind: Kind, *, moment: When, by: Person, body: Mapping[str, Any]
) -> FragEvent:
    """Move one frag's row on, and return its event to be saved.

    Raises: Conflict.
    """
    before = state_of(frag)
    try:
        after = follow(before, Happening(kind, moment.day, body))
    except Conflict as error:
        raise Conflict(f"{show_code(frag.code_id)}: {error.message}", code=frag.code_id) from error
    columns = {"rack": "rack_id"}
    news = {
        columns.get(name, name): value
        for name, value in asdict(after).items()
        if value != getattr(before, name)
    }
    rows = Frag.objects.filter(pk=frag.pk, last_seq=frag.last_seq)
    if not rows.update(last_seq=F("last_seq") + 1, **news):
        raise Conflict(
            f"Somebody else has just changed {show_code(frag.code_id)}. Look at it again.",
            code=frag.code_id,
        )
    add_to_tallies(tallies_of(before, after, kind=kind, month=moment.month))
    return event(frag.pk, kind, seq=frag.last_seq + 1, moment=moment, by=by, body=body)


@one_transaction
def grade_frags(frag_ids: Iterable[int], *, size: str, by: Person, heads: int | None = None) -> int:
    """Grade frags ready at a size, and perhaps a number of heads.

    Returns: how many frags.
    Raises: InputError for an unknown size or no frag; Conflict where one cannot be graded.
    """
    if size not in SIZES:
        raise InputError(f"{size!r} is no size. Choose one of {', '.join(SIZES)}.")
    if heads is not None and not 1 <= heads <= 999:
        raise InputError(f"{heads} heads: write a number from 1 to 999.")
    body = {"size": size} if heads is None else {"size": size, "heads": heads}
    return change(frags_with(frag_ids), Kind.GRADED, by=by, body=body)


@one_transaction
def mark_healed(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags have healed and are growing.

    Returns: how many frags.
    Raises: Conflict where one is graded ready already.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if frag.stage == Stage.READY:
            raise Conflict(
                f"{show_code(frag.code_id)} is graded ready already. "
                "Open it to say that it is not ready.",
                code=frag.code_id,
            )
    return change(frags, Kind.INSPECTED, by=by, body={"stage": Stage.GROWING.value})


@one_transaction
def mark_not_ready(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags which were graded ready are not: they grow on, and are not for sale.

    Returns: how many frags.
    Raises: Conflict where one is not graded ready.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if frag.stage != Stage.READY:
            raise Conflict(
                f"{show_code(frag.code_id)} is {frag.stage}, not ready.", code=frag.code_id
            )
    body = {"stage": Stage.GROWING.value, "was": Stage.READY.value}
    return change(frags, Kind.INSPECTED, by=by, body=body)


@one_transaction
def place_frags(
    frag_ids: Iterable[int],
    *,
    rack: Rack,
    by: Person,
    row: int | None = None,
    column: int | None = None,
) -> int:
    """Put frags into a rack, and one frag into a hole of it where that is known.

    Raises: InputError for a hole outside the grid, or one hole for several
        frags; Conflict for a hole that is taken, or for other water.
    """
    frags = frags_with(frag_ids)
    check_hole(rack, row=row, column=column, frags=len(frags))
    for frag in frags:
        refuse_other_water(frag, rack)
    if row is not None:
        refuse_taken_hole(rack, row=row, column=column, frag=frags[0])
    body = {"rack": rack.pk, "row": row, "column": column}
    return change(frags, Kind.PLACED, by=by, body=body)


def check_hole(rack: Rack, *, row: int | None, column: int | None, frags: int) -> None:
    """Refuse a hole outside the grid, and one hole for several frags.

    Raises: InputError.
    """
    if row is None and column is None:
        return
    if frags > 1:
        raise InputError("One hole holds one frag. Leave row and column empty for several.")
    if not (1 <= (row or 0) <= rack.rows and 1 <= (column or 0) <= rack.columns):
        raise InputError(f"{rack} has {rack.rows} rows and {rack.columns} columns, counted from 1.")


def refuse_other_water(frag: Frag, rack: Rack) -> None:
    """Keep quarantine and the display's water apart.

    Raises: Conflict.
    """
    code, quarantine = show_code(frag.code_id), rack.trough.system.quarantine
    if quarantine and not frag.quarantined:
        raise Conflict(f"{rack} is quarantine. To put {code} there, quarantine it.")
    if frag.quarantined and not quarantine:
        raise Conflict(f"{code} is in quarantine. Release it before it goes to {rack}.")


def refuse_taken_hole(rack: Rack, *, row: int | None, column: int | None, frag: Frag) -> None:
    """Refuse a hole in which another frag stands.

    Raises: Conflict naming it.
    Queries: 1.
    """
    there = Frag.objects.filter(rack=rack, hole_row=row, hole_column=column, pieces__gte=1)
    taken = there.exclude(pk=frag.pk).first()
    if taken is not None:
        raise Conflict(
            f"{show_code(taken.code_id)} stands in row {row}, column {column} of {rack}. "
            "Move it first, or leave row and column empty."
        )


@one_transaction
def set_apart(frag_ids: Iterable[int], *, by: Person, reason: str = "") -> int:
    """Keep frags aside in the same water, not for sale."""
    return change(frags_with(frag_ids), Kind.SET_APART, by=by, body={"reason": reason})


@one_transaction
def quarantine_frags(frag_ids: Iterable[int], *, rack: Rack, by: Person, reason: str = "") -> int:
    """Take frags into a rack of a quarantine system.

    Raises: Conflict where the rack is not in one.
    """
    if not rack.trough.system.quarantine:
        raise Conflict(
            f"{rack} shares water with the display. Quarantine is only in another system."
        )
    ids = list(frag_ids)
    change(frags_with(ids), Kind.QUARANTINED, by=by, body={"reason": reason})
    return change(frags_with(ids), Kind.PLACED, by=by, body={"rack": rack.pk})


@one_transaction
def release_frags(frag_ids: Iterable[int], *, by: Person) -> int:
    """Let frags that were apart or in quarantine be for sale again.

    What was in quarantine has no place until it is put into a rack.
    Raises: Conflict where one is neither.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if not (frag.apart or frag.quarantined):
            raise Conflict(f"{show_code(frag.code_id)} is neither apart nor in quarantine.")
    return change(frags, Kind.RELEASED, by=by, body={})


@one_transaction
def keep_back(frag_ids: Iterable[int], *, kept: bool, by: Person) -> int:
    """Keep frags from sale for now, or no longer."""
    return change(frags_with(frag_ids), Kind.KEPT_BACK, by=by, body={"kept": kept})


@one_transaction
def note_photo(frag_id: int, *, photo_id: int, by: Person) -> None:
    """Note in a frag's log that it was photographed."""
    change(frags_with([frag_id]), Kind.PHOTOGRAPHED, by=by, body={"photo": photo_id})


@one_transaction
def record_loss(frag_id: int, *, pieces: int, cause: str, by: Person, note: str = "") -> None:
    """Write off pieces of a frag with their cause; holds that have run out are ended first.

    Raises: InputError for an unknown cause or number; Conflict for more
        pieces than are free.
    """
    if cause not in CAUSES:
        raise InputError("Choose a cause from the list; unknown is one of them.")
    end_run_out(frag_id, now=clock.now())
    (frag,) = frags_with([frag_id])
    check_loss(frag, pieces=pieces)
    change([frag], Kind.LOST, by=by, body={"pieces": pieces, "cause": cause, "note": note})


def check_loss(frag: Frag, *, pieces: int) -> None:
    """Refuse to write off pieces that are not there, or are put aside for somebody.

    Raises: InputError.
    """
    code, aside = show_code(frag.code_id), frag.pieces - frag.free
    if not 1 <= pieces <= frag.pieces:
        raise InputError(f"{code} has {frag.pieces} living; {pieces} cannot be lost.")
    if pieces > frag.free:
        raise InputError(
            f"{code} has {frag.pieces} living, of which {aside} are put aside; "
            f"{pieces} cannot be lost. Let what is put aside go first."
        )
