"""Where frags stand.

A rack in which something is put is held first, as ``lock_racks`` says, then the frags.
"""

from collections.abc import Iterable, Sequence
from typing import Any, Literal

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change, change_row
from fraginv.stock.actions.log import When, when
from fraginv.stock.actions.rack_locks import lock_rack, lock_racks
from fraginv.stock.actions.stopped_water import keep_apart, step_of
from fraginv.stock.models import Frag, FragEvent, Rack
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.holes import holes_taken, in_hole
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.moves import Moved
from fraginv.stock.rules.racks import Hole, free_holes, holes, is_in_grid
from fraginv.stock.rules.stages import ENDED, ENDED_WORDS

Other = Literal["swap", "unknown"]


@one_transaction
def place_frags(
    frag_ids: Iterable[int],
    *,
    rack: Rack,
    by: Person,
    row: int | None = None,
    column: int | None = None,
) -> Moved:
    """Put frags into a rack, and one frag into a hole of it where that is known.

    Raises: InputError for a hole outside the grid, or one hole for several
        frags; Conflict for a hole that is taken, or for other water.
    Queries: 2, 1 per frag, 1 per 500, 1 for a hole, and those of ``keep_apart``.
    """
    rack = lock_rack(rack.pk)
    frags = frags_with(frag_ids)
    check_hole(rack, row=row, column=column, frags=len(frags))
    for frag in frags:
        refuse_to_place(frag, rack=rack)
    if row is not None:
        refuse_taken_hole(rack, row=row, column=column, frag=frags[0])
    body = {"rack": rack.pk, "row": row, "column": column}
    moment = when()
    change(frags, Kind.PLACED, by=by, body=body, moment=moment)
    steps = [step_of(frag, rack=rack) for frag in frags]
    return Moved(len(frags), apart=keep_apart(steps, by=by, moment=moment))


@one_transaction
def move_frag(
    frag_id: int,
    *,
    rack: Rack,
    by: Person,
    row: int | None = None,
    column: int | None = None,
    other: Other = "unknown",
) -> Moved:
    """Put a frag into a rack, and into a hole of it where that is known, whoever stands there.

    Args: ``other`` says what becomes of a frag that stands in the hole: it takes the place
        that this one leaves, or stays in the rack with its hole not known.
    Raises: InputError for a hole outside the grid; Conflict for other water, or for a frag
        that does not stand here any more.
    Queries: 7, 3 to 6 more for a hole that is taken, and those of ``keep_apart``.
    """
    left = standing_in(frag_id) if other == "swap" else None
    racks = lock_racks([rack.pk, left])
    rack = racks[rack.pk]
    check_hole(rack, row=row, column=column, frags=1)
    (frag,) = frags_with([frag_id])
    refuse_to_place(frag, rack=rack)
    body = {"rack": rack.pk, "row": row, "column": column}
    moment = when()
    there = in_hole(rack, hole=(row, column)).exclude(pk=frag_id).first() if row else None
    if there is None:
        change([frag], Kind.PLACED, by=by, body=body, moment=moment)
        apart = keep_apart([step_of(frag, rack=rack)], by=by, moment=moment)
        return Moved(1, holes=1 if row else 0, apart=apart)
    (taken,) = frags_with([there.pk])
    goes_to = racks.get(frag.rack_id or 0) if other == "swap" else None
    makes_room = room_made(taken, left=frag, rack=rack, goes_to=goes_to)
    lift_out([frag, taken])
    put_each([(taken, makes_room), (frag, body)], by=by, moment=moment)
    steps = [step_of(frag, rack=rack), step_of(taken, rack=goes_to or rack)]
    apart = keep_apart(steps, by=by, moment=moment)
    return Moved(1, 1, made_room=taken.code_id, swapped=goes_to is not None, apart=apart)


def standing_in(frag_id: int) -> int | None:
    """Return the rack in which a frag stands, by its id, or None.

    Queries: 1.
    """
    return Frag.objects.filter(pk=frag_id).values_list("rack", flat=True).first()


@one_transaction
def put_frags(
    frag_ids: Sequence[int],
    *,
    rack: Rack,
    by: Person,
    row: int | None = None,
    column: int | None = None,
    other: str = "",
    holes: str = "",
) -> Moved:
    """Put one frag into a hole, or many into a rack and, where asked for, its free holes.

    Args: ``holes`` is "next" to fill them as one reads; ``other`` is as for ``move_frag``.
    Raises: as ``move_frag``, ``fill_holes`` and ``place_frags``.
    """
    if holes == "next":
        return fill_holes(frag_ids, rack=rack, by=by)
    if len(frag_ids) == 1:
        swap: Other = "swap" if other == "swap" else "unknown"
        return move_frag(frag_ids[0], rack=rack, row=row, column=column, other=swap, by=by)
    return place_frags(frag_ids, rack=rack, by=by)


def room_made(taken: Frag, *, left: Frag, rack: Rack, goes_to: Rack | None) -> dict[str, Any]:
    """Return where a frag goes that makes room: to the place left for it, or nowhere certain.

    Args: ``goes_to`` is the rack that the other one left, None where they do not swap.
    """
    if goes_to is not None:
        if goes_to.pk != rack.pk:
            refuse_to_place(taken, rack=goes_to)
        return {"rack": goes_to.pk, "row": left.hole_row, "column": left.hole_column}
    return {"rack": rack.pk, "row": None, "column": None, "unseen": True}


def lift_out(frags: Sequence[Frag]) -> None:
    """Take frags out of their holes for as long as their places are changed.

    No two frags are in one hole at any moment, not even within a transaction.
    Queries: 1.
    """
    rows = Frag.objects.filter(pk__in=[frag.pk for frag in frags])
    rows.update(hole_row=None, hole_column=None)
    for frag in frags:
        frag.hole_row = frag.hole_column = None


def put_each(
    places: Iterable[tuple[Frag, dict[str, Any]]], *, by: Person, moment: When
) -> list[FragEvent]:
    """Put frags into a place each, and write what happened.

    Queries: 1 per frag, and 1 per 500.
    """
    written = [
        change_row(frag, Kind.PLACED, moment=moment, by=by, body=body) for frag, body in places
    ]
    return FragEvent.objects.bulk_create(written, batch_size=500)


@one_transaction
def fill_holes(frag_ids: Sequence[int], *, rack: Rack, by: Person) -> Moved:
    """Put frags into the free holes of a rack as one reads them, in the order given.

    Frags that stand in a hole of the rack already leave it; when the holes run out, the
    rest stand in the rack with their hole not known.
    Raises: Conflict for other water, or for a frag that does not stand here any more.
    """
    rack = lock_rack(rack.pk)
    frags = {frag.pk: frag for frag in frags_with(frag_ids)}
    for frag in frags.values():
        refuse_to_place(frag, rack=rack)
    lift_out([frag for frag in frags.values() if frag.hole_row is not None])
    grid = holes(rack.rows, rack.columns, turned=rack.turned)
    free = list(free_holes(grid, taken=holes_taken(rack)))
    places: dict[int, Hole | tuple[None, None]] = dict.fromkeys(frag_ids, (None, None))
    places |= dict(zip(dict.fromkeys(frag_ids), free, strict=False))
    moment = when()
    put_each(
        [
            (frags[pk], {"rack": rack.pk, "row": row, "column": column})
            for pk, (row, column) in sorted(places.items())
        ],
        by=by,
        moment=moment,
    )
    steps = [step_of(frag, rack=rack) for frag in frags.values()]
    apart = keep_apart(steps, by=by, moment=moment)
    return Moved(len(frags), min(len(frags), len(free)), apart=apart)


def check_hole(rack: Rack, *, row: int | None, column: int | None, frags: int) -> None:
    """Refuse a hole outside the grid, and one hole for several frags.

    Raises: InputError.
    """
    if row is None and column is None:
        return
    if frags > 1:
        raise InputError("One hole holds one frag. Leave row and column empty for several.")
    if not is_in_grid((row or 0, column or 0), rows=rack.rows, columns=rack.columns):
        raise InputError(f"{rack} has {rack.rows} rows and {rack.columns} columns, counted from 1.")


def refuse_to_place(frag: Frag, *, rack: Rack) -> None:
    """Refuse a frag that has left, a rack that is out of use, and other water.

    Raises: Conflict saying what to do.
    """
    code = show_code(frag.code_id)
    if frag.stage in ENDED:
        words = ENDED_WORDS.get(frag.stage, f"it is {frag.stage}")
        raise Conflict(
            f"{code} does not stand here any more: {words}. If it does, open it and say "
            "that it was found, or take it back at its sale.",
            code=frag.code_id,
        )
    refuse_rack(frag, rack=rack)


def refuse_rack(frag: Frag, *, rack: Rack) -> None:
    """Refuse a rack that is out of use, or whose water is not that of a frag.

    Raises: Conflict saying what to do.
    """
    if rack.withdrawn_on is not None:
        raise Conflict(f"{rack} is out of use. Choose another rack.")
    refuse_other_water(frag, rack)


def refuse_other_water(frag: Frag, rack: Rack) -> None:
    """Keep quarantine and the display's water apart, and one quarantine from another.

    Raises: Conflict.
    """
    code, quarantine = show_code(frag.code_id), rack.trough.system.quarantine
    if quarantine and not frag.quarantined:
        raise Conflict(f"{rack} is quarantine. To put {code} there, quarantine it.")
    if frag.quarantined and not quarantine:
        raise Conflict(f"{code} is in quarantine. Release it before it goes to {rack}.")
    if quarantine and frag.rack and frag.rack.trough.system_id != rack.trough.system_id:
        raise Conflict(
            f"{code} stands in another quarantine than {rack}. Take it to quarantine there: "
            "its days and clean checks begin anew."
        )


def refuse_taken_hole(rack: Rack, *, row: int | None, column: int | None, frag: Frag) -> None:
    """Refuse a hole in which another frag stands.

    Raises: Conflict naming it.
    Queries: 1.
    """
    there = Frag.objects.filter(LIVES, rack=rack, hole_row=row, hole_column=column)
    taken = there.exclude(pk=frag.pk).first()
    if taken is not None:
        raise Conflict(
            f"{show_code(taken.code_id)} stands in row {row}, column {column} of {rack}. "
            "Move it first, or leave row and column empty."
        )
