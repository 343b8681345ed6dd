"""Which event may follow which, and what each leaves behind."""

from datetime import date
from itertools import product
from typing import Any

import pytest

from fraginv.base.errors import Conflict
from fraginv.stock.rules.events import EFFECTS, FOLLOWS, FragState, Happening, Kind, follow, replay
from fraginv.stock.rules.stages import LIVING, Stage

DAY = date(2026, 11, 25)
BODIES: dict[Kind, dict[str, Any]] = {
    Kind.CUT: {"pieces": 3},
    Kind.RECEIVED: {"pieces": 3, "stage": "growing"},
    Kind.PLACED: {"rack": 7, "row": 1, "column": 2},
    Kind.INSPECTED: {"stage": "growing"},
    Kind.PHOTOGRAPHED: {"photo": 1},
    Kind.GRADED: {"size": "M"},
    Kind.SET_APART: {"reason": ""},
    Kind.QUARANTINED: {"reason": ""},
    Kind.RELEASED: {},
    Kind.KEPT_BACK: {"kept": True},
    Kind.HELD: {"claim": 1, "pieces": 1},
    Kind.LET_GO: {"claim": 1, "pieces": 1, "how": "let go"},
    Kind.SOLD: {"claim": 1, "pieces": 1},
    Kind.RETURNED: {"claim": 1, "pieces": 1, "alive": True},
    Kind.LOST: {"pieces": 1, "cause": "unknown"},
}


def happening(kind: Kind, **body: Any) -> Happening:
    return Happening(kind, DAY, BODIES[kind] | body)


def state_at(stage: str) -> FragState:
    """Return a state at a stage with one piece of three held, or with none where it has ended."""
    if stage == "":
        return FragState()
    alive = stage in LIVING
    return FragState(stage=stage, pieces=3 if alive else 0, free=2 if alive else 0)


# Written out once more by hand: what may happen at which stage. Common practice, no source.
BEGIN = {Kind.CUT, Kind.RECEIVED}
AT_ANY_AGE = {
    Kind.PLACED,
    Kind.INSPECTED,
    Kind.PHOTOGRAPHED,
    Kind.GRADED,
    Kind.SET_APART,
    Kind.QUARANTINED,
    Kind.RELEASED,
    Kind.KEPT_BACK,
    Kind.LET_GO,
    Kind.RETURNED,
    Kind.LOST,
}
MAY: dict[str, set[Kind]] = {
    "": BEGIN,
    "healing": AT_ANY_AGE,
    "growing": AT_ANY_AGE,
    "ready": AT_ANY_AGE | {Kind.HELD, Kind.SOLD},
    "sold": {Kind.PHOTOGRAPHED, Kind.RETURNED},
    "lost": {Kind.PHOTOGRAPHED, Kind.RETURNED},
    "given": {Kind.PHOTOGRAPHED},
    "kept": {Kind.PHOTOGRAPHED},
}


@pytest.mark.parametrize(("stage", "kind"), list(product(MAY, Kind)), ids=str)
def test_table_of_what_may_follow(stage: str, kind: Kind) -> None:
    before = state_at(stage)
    if kind in MAY[stage]:
        after = follow(before, happening(kind))
        assert 0 <= after.free <= after.pieces
        return
    with pytest.raises(Conflict, match=f"A frag that is {stage or 'new'} cannot be {kind}"):
        follow(before, happening(kind))


def test_every_kind_has_its_row_and_its_effect() -> None:
    assert set(FOLLOWS) == set(EFFECTS) == set(Kind)
    assert set(MAY) == {"", *(stage.value for stage in Stage)}


def test_a_life_from_cutting_to_the_last_piece() -> None:
    told = replay(
        [
            happening(Kind.CUT, pieces=5, rack=7),
            happening(Kind.INSPECTED),
            happening(Kind.GRADED, size="L", heads=4),
            happening(Kind.HELD, pieces=3),
            happening(Kind.SOLD, pieces=2, held=3),
            happening(Kind.LOST, pieces=1),
            happening(Kind.SOLD, pieces=2),
        ]
    )
    assert told == FragState(
        stage="sold", size="L", heads=4, rack=7, ready_on=DAY, ended_on=DAY, pieces=0, free=0
    )


@pytest.mark.parametrize(
    ("kind", "body"),
    [
        (Kind.HELD, {"pieces": 3}),
        (Kind.LOST, {"pieces": 3}),
        (Kind.SOLD, {"pieces": 3}),
        (Kind.LET_GO, {"pieces": 2}),
    ],
)
def test_free_stays_within_the_pieces(kind: Kind, body: dict[str, int]) -> None:
    ready = state_at("ready")
    with pytest.raises(Conflict, match=r"would leave -?\d+ of \d pieces free"):
        follow(ready, happening(kind, **body))
    assert follow(ready, happening(kind)).free in {1, 3}


def test_regrading_keeps_the_day_on_which_it_was_ready_first() -> None:
    first = follow(state_at("growing"), happening(Kind.GRADED, size="S"))
    later = follow(first, Happening(Kind.GRADED, date(2026, 12, 1), {"size": "M"}))
    assert (later.size, later.ready_on) == ("M", DAY)


def test_what_came_back_dead_changes_nothing() -> None:
    sold = state_at("sold")
    assert follow(sold, happening(Kind.RETURNED, alive=False)) == sold
    back = follow(sold, happening(Kind.RETURNED))
    assert (back.stage, back.pieces, back.free, back.ended_on) == ("ready", 1, 1, None)


def test_release_ends_both_ways_of_being_away() -> None:
    away = follow(follow(state_at("ready"), happening(Kind.SET_APART)), happening(Kind.QUARANTINED))
    assert (away.apart, away.quarantined) == (True, True)
    free = follow(away, happening(Kind.RELEASED))
    assert (free.apart, free.quarantined) == (False, False)
