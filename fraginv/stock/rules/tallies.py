"""What one event of a frag adds to the sums that are kept of the stock."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from fraginv.base.rules.tallies import NOW, Tallies, tally_name
from fraginv.stock.rules.happenings import FragState, Kind
from fraginv.stock.rules.stages import LIVING, Stage

STAGE: Final = "stage"
STOCK: Final = "stock"
READY: Final = tally_name(STOCK, "ready")
# How many stop-sales hold now, so that pages on which most days none does need not ask.
STOP: Final = "stop"
HOLDING: Final = tally_name(STOP, "holding")

# Under what name each kind counts the pieces that it adds, or takes. A loss that was undone was
# none; what comes out of pieces split and pieces grown together is one number, gain less loss.
COUNTED: Final[Mapping[Kind, tuple[str, int]]] = {
    Kind.RECEIVED: ("received", 1),
    Kind.LOST: ("lost", -1),
    Kind.UNDONE: ("lost", -1),
    Kind.FOUND: ("found", 1),
    Kind.GIVEN: ("given", -1),
    Kind.KEPT: ("kept", -1),
    Kind.SPLIT: ("parted", 1),
    Kind.JOINED: ("parted", 1),
}


def tallies_of(before: FragState, after: FragState, *, kind: str, month: int) -> Tallies:
    """Return what changes: frags and pieces at a stage, and what a month gained or lost.

    Ready is a piece from its frag's first grading until it leaves.
    """
    found = Tallies()
    for state, sign in ((before, -1), (after, 1)):
        if state.stage in LIVING:
            found[NOW, tally_name(STAGE, state.stage, "frags")] += sign
            found[NOW, tally_name(STAGE, state.stage, "pieces")] += sign * state.pieces
        if state.ready_on:
            found[month, READY] += sign * state.pieces
    if kind in COUNTED:
        counted, sign = COUNTED[Kind(kind)]
        found[month, tally_name(STOCK, counted)] += sign * (after.pieces - before.pieces)
    return found


def before_claimed(after: FragState, *, kind: str, body: Mapping[str, Any]) -> FragState:
    """Return how a frag stood before pieces of it were held, let go, sold or came back.

    Of a frag without pieces it is not known how it ended, and nothing is counted of it.
    """
    moved = {Kind.SOLD: 1, Kind.RETURNED: -1}.get(Kind(kind), 0) * body["pieces"]
    if not moved or (kind == Kind.RETURNED and not body["alive"]):
        return after
    pieces = after.pieces + moved
    stage = Stage.READY if kind == Kind.SOLD else after.stage if pieces else Stage.SOLD
    return replace(after, stage=stage, pieces=pieces)
