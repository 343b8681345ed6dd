"""Where frags stand."""

from collections.abc import Iterable

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.models import Frag, Rack
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.happenings import Kind


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
