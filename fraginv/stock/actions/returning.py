"""Where what comes back stands: where it stood, as far as it can."""

from fraginv.stock.models import Frag, Rack, System
from fraginv.stock.queries.holes import in_hole
from fraginv.stock.rules.racks import is_in_grid

Place = dict[str, int | None]
NOWHERE: Place = {"rack": None, "row": None, "column": None}


def rack_again(rack: Rack | None, *, stood_in: System | None) -> Rack | None:
    """Return the rack in which something stood, where it can stand there again, else None.

    It cannot in one that is out of use, or that was carried since between quarantine and
    other water; nobody is refused for that, but its place is not known then.
    Args: ``rack`` is held, as ``lock_racks`` returns it; ``stood_in`` is the water in which
        it was then, None where nobody wrote that down.
    """
    if rack is None or rack.withdrawn_on is not None:
        return None
    now = rack.trough.system
    if stood_in is not None and now.pk != stood_in.pk and (now.quarantine or stood_in.quarantine):
        return None
    return rack


def place_again(frag: Frag, *, rack: Rack | None) -> Place:
    """Return the place that the row of a frag that had ended still names, as far as it is free.

    Its hole is not known where another stands in it, or where the rack has it no more.
    Args: ``rack`` as ``rack_again`` returns it.
    Queries: 0 to 1.
    """
    if rack is None or frag.quarantined != rack.trough.system.quarantine:
        return dict(NOWHERE)
    place: Place = {"rack": rack.pk, "row": frag.hole_row, "column": frag.hole_column}
    if frag.hole_row is None:
        return place
    hole = (frag.hole_row, frag.hole_column or 0)
    there = is_in_grid(hole, rows=rack.rows, columns=rack.columns)
    if there and not in_hole(rack, hole=hole).exclude(pk=frag.pk).exists():
        return place
    return place | {"row": None, "column": None}
