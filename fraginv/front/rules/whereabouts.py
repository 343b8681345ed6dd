"""In which water a frag was, and when, worked out from its log and its racks' moves."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from fraginv.stock.rules.events import states
from fraginv.stock.rules.happenings import Happening, Kind


@dataclass(frozen=True)
class Told:
    """One event of a frag: what, and at which moment."""

    at: datetime
    event: Happening


@dataclass(frozen=True)
class Stay:
    """A rack in which something stood, or a trough in which a rack stood, from when to when."""

    place: int
    since: datetime | None
    until: datetime | None

    def within(self, first: datetime, last: datetime) -> bool:
        """Tell whether any moment of it lies between two, both of them inside."""
        begins = self.since is None or self.since <= last
        return begins and (self.until is None or self.until >= first)


@dataclass(frozen=True)
class RackMove:
    """One move of a whole rack to another trough."""

    at: datetime
    left: int


@dataclass(frozen=True)
class Waters:
    """In which troughs each rack stood; ``troughs`` are those that are asked about."""

    stands: Mapping[int, int]
    moves: Mapping[int, Sequence[RackMove]]
    troughs: frozenset[int]

    def held(self, rack: int, first: datetime, last: datetime) -> bool:
        """Tell whether a rack stood in one of the troughs at a moment between two."""
        return any(
            stay.place in self.troughs and stay.within(first, last)
            for stay in rack_stays(self.stands[rack], self.moves.get(rack, ()))
        )


def rack_stays(now_in: int, moves: Sequence[RackMove]) -> list[Stay]:
    """Return the troughs in which a rack stood, the latest first.

    Args: ``moves`` the latest first; before the earliest of them it stood where that says.
    """
    found, trough, until = [], now_in, None
    for move in moves:
        found.append(Stay(trough, move.at, until))
        trough, until = move.left, move.at
    return [*found, Stay(trough, None, until)]


@dataclass(frozen=True)
class Life:
    """The racks in which a frag stood, and the other frags whose lives are part of its own."""

    stays: Sequence[Stay]
    others: Sequence[Stay] = field(default_factory=list)


def life_of(log: Iterable[Told]) -> Life:
    """Return where a frag stood, and from which others pieces came into it.

    A part that was taken from a frag was where that one was until then; what it grew
    together with likewise, or what was joined to it. An event that was dated back counts
    as not before the one that it follows.
    Raises: what ``states`` raises for a log that cannot be followed.
    """
    told = list(log)
    stays: list[Stay] = []
    others: list[Stay] = []
    before: datetime | None = None
    rack: int | None = None
    since: datetime | None = None
    for one, state in zip(told, states(one.event for one in told), strict=True):
        at = max(one.at, before or one.at)
        came_from = source_of(one.event)
        if came_from:
            others.append(Stay(came_from, None, at))
        if state.rack != rack:
            if rack is not None:
                stays.append(Stay(rack, since, at))
            rack, since = state.rack, at
        before = at
    if rack is not None:
        stays.append(Stay(rack, since, None))
    return Life(stays, others)


def source_of(event: Happening) -> int | None:
    """Return the frag whose pieces came in at an event, or None."""
    if event.kind == Kind.SPLIT:
        return event.body.get("from")
    return event.body.get("with") if event.kind == Kind.JOINED else None


def was_in(
    frag: int, *, lives: Mapping[int, Life], waters: Waters, first: datetime, last: datetime
) -> bool:
    """Tell whether a frag, or one that is part of its life, was in a water between two moments.

    A frag whose log is not known or cannot be followed counts as having been there: whoever
    bought it is better called once too often.
    """
    waiting, seen = [(frag, last)], set()
    while waiting:
        one, until = waiting.pop()
        if (one, until) in seen:
            continue
        seen.add((one, until))
        life = lives.get(one)
        if life is None:
            return True
        for stay in life.stays:
            begin = max(first, stay.since or first)
            end = min(until, stay.until or until)
            if begin <= end and waters.held(stay.place, begin, end):
                return True
        for other in life.others:
            end = min(until, other.until or until)
            if end >= first and (other.until is None or other.until <= until):
                waiting.append((other.place, end))
    return False
