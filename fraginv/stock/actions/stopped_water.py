"""Keeping from sale what comes out of water under a stop-sale."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fraginv.base.models import Person
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.log import When
from fraginv.stock.models import Frag, FragEvent, Rack, Trough
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.racks import stands_in
from fraginv.stock.queries.stops import stops_of_waters
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stops import Water, WaterStop, left_behind, say_left


@dataclass(frozen=True)
class Step:
    """One frag by its id, the water that it left and the one in which it stands now."""

    frag: int
    left: Water
    now: Water


def water_of(trough: Trough | None) -> Water:
    """Return the water of a trough, or that no place is known."""
    return Water(trough.pk, trough.system_id) if trough is not None else Water()


def step_of(frag: Frag, *, rack: Rack | None) -> Step:
    """Return the step of a frag, as it was read before, to where it stands now."""
    left = frag.rack.trough if frag.rack is not None else None
    return Step(frag.pk, water_of(left), water_of(rack.trough if rack is not None else None))


def keep_apart(steps: Iterable[Step], *, by: Person, moment: When) -> int:
    """Set frags apart that came out of water under a stop-sale which does not hold where they are.

    A stop-sale says that something is wrong in a water: nobody who moves a piece ends it.
    What is apart already is told of this too; what is in quarantine stays as it is.
    Returns: how many were set apart.
    Queries: none where nothing leaves its water, 1 where no stop-sale holds there; else 2,
        1 per frag that is set apart, and 1 per 500.
    """
    leaving = [one for one in steps if one.left != one.now and one.left != Water()]
    stops = stops_of_waters({one.left for one in leaving})
    told = {one.frag: body_of(stops, left=one.left, now=one.now) for one in leaving}
    bodies = {frag: body for frag, body in told.items() if body}
    return set_each_apart(bodies, by=by, moment=moment)


def body_of(stops: Sequence[WaterStop], *, left: Water, now: Water) -> dict[str, Any]:
    """Return the body of the event that sets a piece apart: why, and for which stop-sales.

    Returns: nothing where it leaves none behind.
    """
    behind = left_behind(stops, left=left, now=now)
    if not behind:
        return {}
    return {"reason": say_left(behind, left=left, now=now), "stops": [one.id for one in behind]}


def keep_rack_apart(rack: Rack, *, trough: Trough, by: Person, moment: When) -> int:
    """Set all apart that is carried with its rack out of water under a stop-sale.

    Args: ``trough`` is the other one; ``rack`` as it stood before.
    Returns, Queries: as ``keep_apart``, and 1 more where a stop-sale is left behind.
    """
    left, now = water_of(rack.trough), water_of(trough)
    body = body_of(stops_of_waters({left}), left=left, now=now)
    if not body:
        return 0
    there = Frag.objects.filter(stands_in(rack), quarantined=False)
    bodies = dict.fromkeys(there.values_list("pk", flat=True), body)
    return set_each_apart(bodies, by=by, moment=moment)


def set_each_apart(bodies: Mapping[int, Mapping[str, Any]], *, by: Person, moment: When) -> int:
    """Set frags apart by their ids, each as its body says, unless they are in quarantine."""
    if not bodies:
        return 0
    written = [
        change_row(frag, Kind.SET_APART, moment=moment, by=by, body=bodies[frag.pk])
        for frag in frags_with(bodies)
        if not frag.quarantined
    ]
    FragEvent.objects.bulk_create(written, batch_size=500)
    return len(written)
