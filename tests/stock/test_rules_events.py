"""Which event may follow which, and what each leaves behind."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import product
from typing import Any

import pytest

from fraginv.base.errors import Conflict
from fraginv.stock.rules.effects import EFFECTS
from fraginv.stock.rules.events import FOLLOWS, follow, replay
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from fraginv.stock.rules.stages import LIVING, Stage

DAY = date(2026, 11, 25)
NEXT_DAY = DAY + timedelta(days=1)
BODIES: dict[Kind, dict[str, Any]] = {
    Kind.CUT: {"pieces": 3},
    Kind.RECEIVED: {"pieces": 3, "stage": "growing"},
    Kind.SPLIT: {"pieces": 1, "into": [8]},
    Kind.JOINED: {"pieces": 1, "with": 8},
    Kind.REMOUNTED: {"medium": "disc"},
    Kind.RELABELLED: {"from": "7K3-Q9F-2"},
    Kind.PLACED: {"rack": 7, "row": 1, "column": 2},
    Kind.INSPECTED: {"stage": "growing"},
    Kind.PHOTOGRAPHED: {"photo": 1},
    Kind.SIZED: {"measurement": 1, "area_mm2": 490.9, "diameter_mm": 25.0},
    Kind.DIPPED: {"dip": "iodine"},
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
    Kind.UNDONE: {"pieces": 1, "undoes": 3, "stage": "growing", "rack": 7},
    Kind.FOUND: {"pieces": 1},
    Kind.GIVEN: {"pieces": 1, "why": "school"},
    Kind.KEPT: {"pieces": 1, "colony": 4},
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
BEGIN = {Kind.CUT, Kind.RECEIVED, Kind.SPLIT}
AT_ANY_AGE = {
    Kind.SPLIT,
    Kind.JOINED,
    Kind.REMOUNTED,
    Kind.RELABELLED,
    Kind.DIPPED,
    Kind.UNDONE,
    Kind.FOUND,
    Kind.GIVEN,
    Kind.KEPT,
    Kind.PLACED,
    Kind.INSPECTED,
    Kind.PHOTOGRAPHED,
    Kind.SIZED,
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
    "sold": {Kind.PHOTOGRAPHED, Kind.SIZED, Kind.RETURNED},
    "lost": {Kind.PHOTOGRAPHED, Kind.SIZED, Kind.RETURNED, Kind.UNDONE, Kind.FOUND},
    "given": {Kind.PHOTOGRAPHED, Kind.SIZED, Kind.RETURNED},
    "kept": {Kind.PHOTOGRAPHED, Kind.SIZED, Kind.RETURNED},
    "joined": {Kind.PHOTOGRAPHED, Kind.SIZED, Kind.RETURNED},
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
        stage="sold",
        size="L",
        heads=4,
        rack=7,
        seen_on=DAY,
        ready_on=DAY,
        ended_on=DAY,
        pieces=0,
        free=0,
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


def test_a_part_begins_as_the_whole_stood_and_the_whole_has_fewer() -> None:
    lot = state_at("ready")
    part = follow(
        FragState(), happening(Kind.SPLIT, **{"from": 3, "stage": "ready", "size": "M", "rack": 7})
    )
    whole = follow(lot, happening(Kind.SPLIT))
    assert (whole.pieces, whole.free, whole.stage) == (2, 1, "ready")
    assert (part.pieces, part.free, part.stage, part.size, part.rack) == (1, 1, "ready", "M", 7)
    assert part.pieces + whole.pieces == lot.pieces


def test_what_is_cut_anew_heals_anew_and_keeps_its_pieces() -> None:
    ready = follow(state_at("growing"), happening(Kind.GRADED))
    recut = follow(ready, happening(Kind.SPLIT, pieces=0, stage="healing"))
    assert (recut.pieces, recut.stage, recut.size, recut.ready_on) == (3, "healing", "", None)


def test_two_that_grew_together_are_one() -> None:
    one = FragState(stage="growing", pieces=1, free=1)
    stays = follow(one, happening(Kind.JOINED, pieces=0))
    goes = follow(one, Happening(Kind.JOINED, DAY, {"pieces": 1, "into": 9}))
    assert (stays.pieces, stays.stage) == (1, "growing")
    assert (goes.pieces, goes.stage, goes.ended_on) == (0, "joined", DAY)


def test_a_loss_that_was_undone_leaves_it_as_it_was() -> None:
    before = FragState(stage="growing", pieces=2, free=2, rack=7, hole_row=1, hole_column=4)
    lost = follow(before, happening(Kind.LOST, pieces=2))
    assert (lost.stage, lost.ended_on) == ("lost", DAY)
    body = {"pieces": 2, "undoes": 1, "stage": "growing", "rack": 7, "row": 1, "column": 4}
    back = follow(lost, Happening(Kind.UNDONE, DAY, body))
    assert replace(back, seen_on=None) == before


def test_clean_checks_count_in_quarantine_and_begin_anew_when_something_is_wrong() -> None:
    away = follow(state_at("growing"), happening(Kind.QUARANTINED))
    clean = happening(Kind.INSPECTED, wrong="", clean=True)
    once = follow(follow(away, clean), clean)
    assert (once.clean_checks, once.checked_on) == (1, DAY)
    twice = follow(once, replace(clean, day=NEXT_DAY))
    assert (twice.clean_checks, twice.quarantined_on, twice.wrong) == (2, DAY, "")
    spotted = follow(twice, happening(Kind.INSPECTED, wrong="pest"))
    assert (spotted.clean_checks, spotted.wrong) == (0, "pest")
    assert follow(spotted, clean).clean_checks == 0
    assert follow(state_at("growing"), clean).clean_checks == 0
    out = follow(twice, happening(Kind.RELEASED))
    assert (out.quarantined_on, out.clean_checks, out.checked_on) == (None, 0, None)


def test_another_quarantine_begins_the_stay_anew() -> None:
    away = follow(state_at("growing"), happening(Kind.QUARANTINED))
    away = follow(away, happening(Kind.INSPECTED, wrong="", clean=True))
    same = follow(away, Happening(Kind.QUARANTINED, NEXT_DAY, {}))
    assert (same.quarantined_on, same.clean_checks) == (DAY, 1)
    other = follow(away, Happening(Kind.QUARANTINED, NEXT_DAY, {"anew": True}))
    assert (other.quarantined_on, other.clean_checks, other.checked_on) == (NEXT_DAY, 0, None)


@pytest.mark.parametrize(
    ("kind", "body", "seen"),
    [
        (Kind.INSPECTED, {}, DAY),
        (Kind.PLACED, {}, DAY),
        (Kind.PLACED, {"unseen": True}, None),
        (Kind.HELD, {}, None),
        (Kind.SOLD, {}, None),
        (Kind.KEPT_BACK, {}, None),
    ],
)
def test_seen_is_what_somebody_had_before_their_eyes(
    kind: Kind, body: dict[str, Any], seen: date | None
) -> None:
    assert follow(state_at("ready"), happening(kind, **body)).seen_on == seen


def test_a_fresh_cut_is_for_sale_until_it_is_graded_or_grows_on() -> None:
    fresh = follow(state_at("healing"), happening(Kind.GRADED, fresh=True))
    assert (fresh.stage, fresh.fresh) == ("ready", True)
    assert not follow(fresh, happening(Kind.GRADED)).fresh
    assert not follow(fresh, happening(Kind.INSPECTED, stage="growing")).fresh
    assert follow(fresh, Happening(Kind.INSPECTED, DAY, {"wrong": "algae"})).fresh


def test_a_dip_says_when_the_next_is_due() -> None:
    dipped = follow(state_at("growing"), happening(Kind.DIPPED, again="2026-12-02"))
    assert dipped.dip_due_on == date(2026, 12, 2)
    assert follow(dipped, happening(Kind.DIPPED)).dip_due_on is None
