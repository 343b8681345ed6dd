"""What can happen to a frag, after what, and what it leaves behind."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any, Final

from fraginv.base.errors import Conflict
from fraginv.stock.rules.stages import LIVING, Stage


class Kind(StrEnum):
    """The kinds of events of a frag."""

    CUT = "cut"
    RECEIVED = "received"
    PLACED = "placed"
    INSPECTED = "inspected"
    PHOTOGRAPHED = "photographed"
    GRADED = "graded"
    SET_APART = "set apart"
    QUARANTINED = "quarantined"
    RELEASED = "released"
    KEPT_BACK = "kept back"
    HELD = "held"
    LET_GO = "let go"
    SOLD = "sold"
    RETURNED = "returned"
    LOST = "lost"


Body = Mapping[str, Any]


@dataclass(frozen=True)
class FragState:
    """The present of a frag, as its events tell it."""

    stage: str = ""
    pieces: int = 0
    free: int = 0
    apart: bool = False
    quarantined: bool = False
    kept_back: bool = False
    size: str = ""
    heads: int | None = None
    rack: int | None = None
    hole_row: int | None = None
    hole_column: int | None = None
    ready_on: date | None = None
    ended_on: date | None = None


@dataclass(frozen=True)
class Happening:
    """One event: what, on which business day, and its body."""

    kind: Kind
    day: date
    body: Body


NOWHERE: Final[frozenset[str]] = frozenset({""})
ALIVE: Final[frozenset[str]] = frozenset(LIVING)

FOLLOWS: Final[Mapping[Kind, frozenset[str]]] = {
    Kind.CUT: NOWHERE,
    Kind.RECEIVED: NOWHERE,
    Kind.PLACED: ALIVE,
    Kind.INSPECTED: ALIVE,
    Kind.PHOTOGRAPHED: ALIVE | {Stage.SOLD, Stage.LOST, Stage.GIVEN, Stage.KEPT},
    Kind.GRADED: ALIVE,
    Kind.SET_APART: ALIVE,
    Kind.QUARANTINED: ALIVE,
    Kind.RELEASED: ALIVE,
    Kind.KEPT_BACK: ALIVE,
    Kind.HELD: frozenset({Stage.READY}),
    Kind.LET_GO: ALIVE,
    Kind.SOLD: frozenset({Stage.READY}),
    Kind.RETURNED: ALIVE | {Stage.SOLD, Stage.LOST},
    Kind.LOST: ALIVE,
}


def leave(state: FragState, pieces: int, stage: Stage, day: date) -> FragState:
    """Take living pieces out; the last one to leave ends the frag."""
    left = replace(state, pieces=state.pieces - pieces)
    return replace(left, stage=stage.value, ended_on=day) if left.pieces == 0 else left


def begin(state: FragState, event: Happening) -> FragState:
    """Start with living pieces, all of them free."""
    count = event.body["pieces"]
    stage = event.body.get("stage", Stage.HEALING.value)
    return replace(state, stage=stage, pieces=count, free=count, rack=event.body.get("rack"))


def place(state: FragState, event: Happening) -> FragState:
    """Stand in a rack, and in a hole of it where that is known."""
    body = event.body
    return replace(
        state, rack=body["rack"], hole_row=body.get("row"), hole_column=body.get("column")
    )


def inspect(state: FragState, event: Happening) -> FragState:
    """Have healed, where the body says so."""
    return replace(state, stage=event.body.get("stage", state.stage))


def grade(state: FragState, event: Happening) -> FragState:
    """Be ready, at a size and perhaps a number of heads."""
    return replace(
        state,
        stage=Stage.READY.value,
        size=event.body["size"],
        heads=event.body.get("heads"),
        ready_on=state.ready_on or event.day,
    )


def hold(state: FragState, event: Happening) -> FragState:
    """Have fewer pieces free."""
    return replace(state, free=state.free - event.body["pieces"])


def let_go(state: FragState, event: Happening) -> FragState:
    """Have held pieces free again."""
    return replace(state, free=state.free + event.body["pieces"])


def sell(state: FragState, event: Happening) -> FragState:
    """Lose sold pieces; those of a hold were not free, and what it held too many is."""
    pieces, held = event.body["pieces"], event.body.get("held", 0)
    freed = replace(state, free=state.free + held - pieces)
    return leave(freed, pieces, Stage.SOLD, event.day)


def release(state: FragState, event: Happening) -> FragState:
    """Be for sale again; what comes out of quarantine has left its rack there."""
    free = replace(state, apart=False, quarantined=False)
    return lift(free) if state.quarantined else free


def lift(state: FragState) -> FragState:
    """Stand in no known place."""
    return replace(state, rack=None, hole_row=None, hole_column=None)


def take_back(state: FragState, event: Happening) -> FragState:
    """Have pieces that came back alive, and be ready again with them."""
    if not event.body["alive"]:
        return state
    count = event.body["pieces"]
    if state.pieces == 0:
        state = replace(lift(state), stage=Stage.READY.value, ended_on=None)
    return replace(state, pieces=state.pieces + count, free=state.free + count)


def lose(state: FragState, event: Happening) -> FragState:
    """Lose free pieces for good."""
    count = event.body["pieces"]
    return leave(replace(state, free=state.free - count), count, Stage.LOST, event.day)


EFFECTS: Final[Mapping[Kind, Callable[[FragState, Happening], FragState]]] = {
    Kind.CUT: begin,
    Kind.RECEIVED: begin,
    Kind.PLACED: place,
    Kind.INSPECTED: inspect,
    Kind.PHOTOGRAPHED: lambda state, event: state,
    Kind.GRADED: grade,
    Kind.SET_APART: lambda state, event: replace(state, apart=True),
    Kind.QUARANTINED: lambda state, event: replace(state, quarantined=True),
    Kind.RELEASED: release,
    Kind.KEPT_BACK: lambda state, event: replace(state, kept_back=event.body["kept"]),
    Kind.HELD: hold,
    Kind.LET_GO: let_go,
    Kind.SOLD: sell,
    Kind.RETURNED: take_back,
    Kind.LOST: lose,
}


def follow(state: FragState, event: Happening) -> FragState:
    """Return the state after an event.

    Raises: Conflict where the table does not let it follow, or where it would
        leave fewer than no pieces, or more free than there are.
    """
    if state.stage not in FOLLOWS[event.kind]:
        raise Conflict(f"A frag that is {state.stage or 'new'} cannot be {event.kind}.")
    after = EFFECTS[event.kind](state, event)
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
