"""What each kind of event leaves behind on a frag."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Final

from fraginv.stock.rules.happenings import Body, FragState, Happening, Kind
from fraginv.stock.rules.stages import Stage


def leave(state: FragState, pieces: int, stage: Stage, day: date) -> FragState:
    """Take free living pieces out; the last one to leave ends the frag."""
    left = replace(state, pieces=state.pieces - pieces, free=state.free - pieces)
    return replace(left, stage=stage.value, ended_on=day) if left.pieces == 0 else left


def leaver(stage: Stage) -> Callable[[FragState, Happening], FragState]:
    """Return what an event does at which pieces leave for good."""

    def gone(state: FragState, event: Happening) -> FragState:
        return leave(state, event.body["pieces"], stage, event.day)

    return gone


def begin(state: FragState, event: Happening) -> FragState:
    """Start with living pieces, all of them free; the body may say how they stand already."""
    body, count = event.body, event.body["pieces"]
    quarantined = body.get("quarantined", False)
    stage = body.get("stage", Stage.HEALING.value)
    return replace(
        place(state, event),
        stage=stage,
        pieces=count,
        free=count,
        apart=body.get("apart", False),
        quarantined=quarantined,
        quarantined_on=day_in(body, "quarantined_on") or event.day if quarantined else None,
        clean_checks=body.get("clean_checks", 0),
        checked_on=day_in(body, "checked_on"),
        kept_back=body.get("kept", False),
        fresh=body.get("fresh", False),
        wrong=body.get("wrong", ""),
        dip_due_on=day_in(body, "dip_due_on"),
        size=body.get("size", ""),
        heads=body.get("heads"),
        ready_on=day_in(body, "ready_on") or event.day if stage == Stage.READY else None,
    )


def day_in(body: Body, name: str) -> date | None:
    """Return a day that a body may name."""
    return date.fromisoformat(body[name]) if body.get(name) else None


def split(state: FragState, event: Happening) -> FragState:
    """Begin as a part of another; or let pieces leave for codes of their own.

    A recut makes pieces out of one: none leaves, and what is cut anew heals anew.
    """
    if not state.stage:
        return begin(state, event)
    if event.body.get("stage"):
        state = replace(
            state, stage=event.body["stage"], fresh=False, size="", heads=None, ready_on=None
        )
    return leave(state, event.body["pieces"], Stage.JOINED, event.day)


def join(state: FragState, event: Happening) -> FragState:
    """Take in the pieces of another, or be taken in by it.

    In quarantine the body says how long both have been there, and how often found clean.
    """
    if "into" in event.body:
        return leave(state, event.body["pieces"], Stage.JOINED, event.day)
    count = event.body["pieces"]
    if "clean_checks" in event.body:
        state = replace(
            state,
            quarantined_on=day_in(event.body, "quarantined_on"),
            clean_checks=event.body["clean_checks"],
            checked_on=day_in(event.body, "checked_on"),
        )
    return replace(state, pieces=state.pieces + count, free=state.free + count)


def place(state: FragState, event: Happening) -> FragState:
    """Stand in a rack, and in a hole of it where that is known."""
    body = event.body
    return replace(
        state, rack=body.get("rack"), hole_row=body.get("row"), hole_column=body.get("column")
    )


def inspect(state: FragState, event: Happening) -> FragState:
    """Have been looked at: healed, or with something wrong, where the body says so.

    In quarantine a look that finds it clean counts, once a day, and one that does not
    begins anew.
    """
    body = event.body
    looked = replace(
        state,
        stage=body.get("stage", state.stage),
        wrong=body.get("wrong", state.wrong),
        fresh=state.fresh and body.get("stage", state.stage) == Stage.READY,
    )
    if not state.quarantined:
        return looked
    if body.get("wrong"):
        return replace(looked, clean_checks=0, checked_on=event.day)
    if body.get("clean") and (state.checked_on is None or state.checked_on < event.day):
        return replace(looked, clean_checks=state.clean_checks + 1, checked_on=event.day)
    return looked


def dip(state: FragState, event: Happening) -> FragState:
    """Have been dipped; the next dip is due on the day that the body names, or not at all."""
    return replace(state, dip_due_on=day_in(event.body, "again"))


def grade(state: FragState, event: Happening) -> FragState:
    """Be ready, at a size and perhaps a number of heads; or for sale as a fresh cut."""
    return replace(
        state,
        stage=Stage.READY.value,
        fresh=event.body.get("fresh", False),
        size=event.body["size"],
        heads=event.body.get("heads"),
        ready_on=state.ready_on or event.day,
    )


def quarantine(state: FragState, event: Happening) -> FragState:
    """Be in quarantine, from this day unless it was there before, in the same water."""
    if state.quarantined and not event.body.get("anew"):
        return state
    return replace(
        state, quarantined=True, quarantined_on=event.day, clean_checks=0, checked_on=None
    )


def hold(state: FragState, event: Happening) -> FragState:
    """Have fewer pieces free."""
    return replace(state, free=state.free - event.body["pieces"])


def let_go(state: FragState, event: Happening) -> FragState:
    """Have held pieces free again."""
    return replace(state, free=state.free + event.body["pieces"])


def sell(state: FragState, event: Happening) -> FragState:
    """Lose sold pieces; those of a hold were not free, and what it held too many is."""
    freed = replace(state, free=state.free + event.body.get("held", 0))
    return leave(freed, event.body["pieces"], Stage.SOLD, event.day)


def release(state: FragState, event: Happening) -> FragState:
    """Be for sale again; what comes out of quarantine has left its rack there."""
    free = replace(state, apart=False, quarantined=False, quarantined_on=None)
    free = replace(free, clean_checks=0, checked_on=None)
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


def find(state: FragState, event: Happening) -> FragState:
    """Have pieces again that were written off: where and how the body says if all were gone."""
    count = event.body["pieces"]
    if state.pieces == 0:
        stage = event.body.get("stage", Stage.GROWING.value)
        state = replace(place(state, event), stage=stage, ended_on=None)
    return replace(state, pieces=state.pieces + count, free=state.free + count)


EFFECTS: Final[Mapping[Kind, Callable[[FragState, Happening], FragState]]] = {
    Kind.CUT: begin,
    Kind.RECEIVED: begin,
    Kind.SPLIT: split,
    Kind.JOINED: join,
    Kind.REMOUNTED: lambda state, event: replace(state, new_medium=event.body["medium"]),
    Kind.RELABELLED: lambda state, event: state,
    Kind.PLACED: place,
    Kind.INSPECTED: inspect,
    Kind.PHOTOGRAPHED: lambda state, event: state,
    Kind.SIZED: lambda state, event: state,
    Kind.DIPPED: dip,
    Kind.GRADED: grade,
    Kind.SET_APART: lambda state, event: replace(state, apart=True),
    Kind.QUARANTINED: quarantine,
    Kind.RELEASED: release,
    Kind.KEPT_BACK: lambda state, event: replace(state, kept_back=event.body["kept"]),
    Kind.HELD: hold,
    Kind.LET_GO: let_go,
    Kind.SOLD: sell,
    Kind.RETURNED: take_back,
    Kind.LOST: leaver(Stage.LOST),
    Kind.UNDONE: find,
    Kind.FOUND: find,
    Kind.GIVEN: leaver(Stage.GIVEN),
    Kind.KEPT: leaver(Stage.KEPT),
}
