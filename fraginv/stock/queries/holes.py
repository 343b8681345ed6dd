"""Reading what stands in which hole."""

from django.db.models import QuerySet

from fraginv.stock.models import Frag, Rack
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.racks import Hole


def in_hole(rack: Rack, *, hole: tuple[int | None, int | None]) -> QuerySet[Frag]:
    """Return the frag that stands in a hole, if one does.

    Queries: none until it is read, then 1.
    """
    return Frag.objects.filter(LIVES, rack=rack, hole_row=hole[0], hole_column=hole[1])


def holes_taken(rack: Rack) -> set[Hole]:
    """Return the holes of a rack in which something stands.

    Queries: 1.
    """
    there = Frag.objects.filter(LIVES, rack=rack, hole_row__isnull=False)
    return {
        (row, column)
        for row, column in there.values_list("hole_row", "hole_column")
        if row is not None and column is not None
    }


def highest_hole(rack: Rack) -> Hole:
    """Return the highest row and the highest column in which something stands, 0 for none.

    Queries: 1.
    """
    taken = holes_taken(rack)
    return (
        max((row for row, _ in taken), default=0),
        max((column for _, column in taken), default=0),
    )
