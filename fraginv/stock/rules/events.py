"""What can happen to a frag, and after what."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final

from fraginv.base.errors import Conflict
from fraginv.stock.rules.effects import EFFECTS
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from fraginv.stock.rules.stages import ENDED, LIVING, Stage

NOWHERE: Final[frozenset[str]] = frozenset({""})
ALIVE: Final[frozenset[str]] = frozenset(LIVING)
GONE: Final[frozenset[str]] = frozenset(ENDED)

FOLLOWS: Final[Mapping[Kind, frozenset[str]]] = {
    Kind.CUT: NOWHERE,
    Kind.RECEIVED: NOWHERE,
    Kind.SPLIT: NOWHERE | ALIVE,
    Kind.JOINED: ALIVE,
    Kind.REMOUNTED: ALIVE,
    Kind.RELABELLED: ALIVE,
    Kind.PLACED: ALIVE,
    Kind.INSPECTED: ALIVE,
    Kind.PHOTOGRAPHED: ALIVE | GONE,
    Kind.SIZED: ALIVE | GONE,
    Kind.DIPPED: ALIVE,
    Kind.GRADED: ALIVE,
    Kind.SET_APART: ALIVE,
    Kind.QUARANTINED: ALIVE,
    Kind.RELEASED: ALIVE,
    Kind.KEPT_BACK: ALIVE,
    Kind.HELD: frozenset({Stage.READY}),
    Kind.LET_GO: ALIVE,
    Kind.SOLD: frozenset({Stage.READY}),
    Kind.RETURNED: ALIVE | GONE,
    Kind.LOST: ALIVE,
    Kind.UNDONE: ALIVE | {Stage.LOST},
    Kind.FOUND: ALIVE | {Stage.LOST},
    Kind.GIVEN: ALIVE,
    Kind.KEPT: ALIVE,
}

# At these somebody had the frag before their eyes.
SEEN_AT: Final[frozenset[Kind]] = frozenset(
    {
        *(Kind.CUT, Kind.RECEIVED, Kind.SPLIT, Kind.JOINED, Kind.REMOUNTED, Kind.RELABELLED),
        *(Kind.PLACED, Kind.INSPECTED, Kind.PHOTOGRAPHED, Kind.DIPPED, Kind.GRADED),
        *(Kind.SET_APART, Kind.QUARANTINED, Kind.UNDONE, Kind.FOUND),
    }
)


def see(state: FragState, event: Happening) -> FragState:
    """Have been seen on a day, where the event is one at which somebody looked."""
    if event.kind not in SEEN_AT or state.stage not in ALIVE or event.body.get("unseen"):
        return state
    return replace(state, seen_on=max(event.day, state.seen_on or event.day))


def follow(state: FragState, event: Happening) -> FragState:
    """Return the state after an event.

    Raises: Conflict where the table does not let it follow, or where it would
        leave fewer than no pieces, or more free than there are.
    """
    if state.stage not in FOLLOWS[event.kind]:
        raise Conflict(f"A frag that is {state.stage or 'new'} cannot be {event.kind}.")
    after = see(EFFECTS[event.kind](state, event), event)
    if not 0 <= after.free <= after.pieces:
        raise Conflict(
            f"{event.kind} would leave {after.free} of {after.pieces} pieces free.",
        )
    return after


def replay(events: Iterable[Happening]) -> FragState:
    """Return the present that a frag's events, in order, lead to.

    Raises: Conflict as ``follow``.
    """
    return [FragState(), *states(events)][-1]


def states(events: Iterable[Happening]) -> Iterator[FragState]:
    """Yield the state after each of a frag's events, in order.

    Raises: Conflict as ``follow``.
    """
    state = FragState()
    for event in events:
        state = follow(state, event)
        yield state
