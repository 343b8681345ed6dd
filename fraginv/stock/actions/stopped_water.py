"""Keeping from sale what comes out of water under a stop-sale."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fraginv.base.models import Person
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.log import When
from fraginv.stock.models import Frag, FragEvent, Rack, Trough
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.racks import stands_in
from fraginv.stock.queries.stops import stops_of_waters
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stops import Water, say_left


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
    What is apart or in quarantine already stays as it is.
    Returns: how many were set apart.
    Queries: none where nothing leaves its water, 1 where no stop-sale holds there; else 2,
        1 per frag that is set apart, and 1 per 500.
    """
    leaving = [one for one in steps if one.left != one.now and one.left != Water()]
    stops = stops_of_waters({one.left for one in leaving})
    told = {one.frag: say_left(stops, left=one.left, now=one.now) for one in leaving}
    reasons = {frag: reason for frag, reason in told.items() if reason}
    return set_each_apart(reasons, by=by, moment=moment)


def keep_rack_apart(rack: Rack, *, trough: Trough, by: Person, moment: When) -> int:
    """Set all apart that is carried with its rack out of water under a stop-sale.

    Args: ``trough`` is the other one; ``rack`` as it stood before.
    Returns, Queries: as ``keep_apart``, and 1 more where a stop-sale is left behind.
    """
    left, now = water_of(rack.trough), water_of(trough)
    reason = say_left(stops_of_waters({left}), left=left, now=now)
    if not reason:
        return 0
    there = Frag.objects.filter(stands_in(rack), apart=False, quarantined=False)
    reasons = dict.fromkeys(there.values_list("pk", flat=True), reason)
    return set_each_apart(reasons, by=by, moment=moment)


def set_each_apart(reasons: Mapping[int, str], *, by: Person, moment: When) -> int:
    """Set frags apart by their ids, each for its reason, unless they are kept away already."""
    if not reasons:
        return 0
    written = [
        change_row(frag, Kind.SET_APART, moment=moment, by=by, body={"reason": reasons[frag.pk]})
        for frag in frags_with(reasons)
        if not (frag.apart or frag.quarantined)
    ]
    FragEvent.objects.bulk_create(written, batch_size=500)
    return len(written)
