"""What is due, how holes lie, and what a rack's events tell, as tables."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.stock.rules.racks import (
    RackState,
    follow_rack,
    free_holes,
    holes,
    is_in_grid,
)
from fraginv.stock.rules.ready import SEE_DAYS
from fraginv.stock.rules.rounds import (
    Due,
    Watched,
    count_due,
    due_of,
    later_of,
    say_due,
)

TODAY = date(2026, 11, 25)
QUIET = Watched(stage="growing", seen_on=TODAY, seen_every=SEE_DAYS)


def days_ago(days: int) -> date:
    return TODAY - timedelta(days=days)


# Intervals are common practice, no source; what is asked is that the day itself counts.
CASES: dict[str, tuple[Watched, tuple[Due, ...]]] = {
    "nothing": (QUIET, ()),
    "seen a day less than its interval ago": (replace(QUIET, seen_on=days_ago(13)), ()),
    "seen its interval ago": (replace(QUIET, seen_on=days_ago(14)), (Due.UNSEEN,)),
    "never seen": (replace(QUIET, seen_on=None), (Due.UNSEEN,)),
    "a variety that is seen daily": (
        replace(QUIET, seen_on=days_ago(1), seen_every=1),
        (Due.UNSEEN,),
    ),
    "a dip tomorrow": (replace(QUIET, dip_due_on=TODAY + timedelta(days=1)), ()),
    "a dip today": (replace(QUIET, dip_due_on=TODAY), (Due.DIP,)),
    "healing until today": (replace(QUIET, stage="healing", heal_by=TODAY), (Due.HEALING,)),
    "healed long ago": (replace(QUIET, heal_by=days_ago(90)), ()),
    "likely ready": (replace(QUIET, likely_on=TODAY), (Due.LIKELY,)),
    "likely ready but apart": (replace(QUIET, likely_on=TODAY, apart=True), ()),
    "ready already": (replace(QUIET, stage="ready", likely_on=days_ago(9)), ()),
    "quarantine, checked in time": (
        replace(QUIET, quarantined=True, check_days=7, seen_on=days_ago(6)),
        (),
    ),
    "quarantine, check due": (
        replace(QUIET, quarantined=True, check_days=7, seen_on=days_ago(7)),
        (Due.CHECK,),
    ),
    "the most urgent first": (
        Watched("healing", None, 14, quarantined=True, dip_due_on=TODAY, heal_by=TODAY),
        (Due.CHECK, Due.DIP, Due.HEALING),
    ),
}


@pytest.mark.parametrize(("watched", "due"), CASES.values(), ids=CASES)
def test_what_is_due(watched: Watched, due: tuple[Due, ...]) -> None:
    assert due_of(watched, today=TODAY) == due


def test_counting_and_saying() -> None:
    counted = count_due([(Due.DIP, Due.UNSEEN), (Due.DIP,), ()])
    assert counted == {Due.DIP: 2, Due.UNSEEN: 1}
    assert say_due(Due.DIP, count=2) == "2 dips due"
    assert say_due(Due.HEALING, count=1) == "1 heals longer than usual"
    assert later_of(None, days_ago(2), TODAY) == TODAY
    assert later_of(None, None) is None


def test_holes_as_one_reads_them() -> None:
    assert list(holes(2, 3)) == [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)]
    assert list(holes(2, 2, turned=True)) == [(2, 2), (2, 1), (1, 2), (1, 1)]
    assert list(free_holes(holes(1, 3), taken=[(1, 2)])) == [(1, 1), (1, 3)]


@given(st.integers(1, 40), st.integers(1, 40))
def test_turning_round_twice_is_as_before(rows: int, columns: int) -> None:
    one = list(holes(rows, columns))
    assert one == list(holes(rows, columns, turned=True))[::-1]
    assert len(set(one)) == rows * columns
    assert all(is_in_grid(hole, rows=rows, columns=columns) for hole in one)
    assert not is_in_grid((rows + 1, 1), rows=rows, columns=columns)
    assert not is_in_grid((1, 0), rows=rows, columns=columns)


EVENTS: list[tuple[str, dict[str, Any], RackState]] = [
    ("seen", {"checked": 0}, RackState(seen_on=TODAY)),
    ("counted", {"expected": 1, "found": 1, "settled": {}}, RackState(seen_on=TODAY)),
    ("turned", {"turned": True}, RackState(turned=True)),
    ("moved", {"from": 1, "to": 2}, RackState(trough=2)),
    ("emptied", {"into": 3, "frags": 4}, RackState()),
]


@pytest.mark.parametrize(("kind", "body", "told"), EVENTS, ids=[kind for kind, _, _ in EVENTS])
def test_what_an_event_of_a_rack_tells(kind: str, body: dict[str, Any], told: RackState) -> None:
    assert follow_rack(RackState(), kind=kind, day=TODAY, body=body) == told


def test_a_look_that_is_written_late_does_not_set_the_day_back() -> None:
    seen = RackState(seen_on=TODAY)
    assert follow_rack(seen, kind="seen", day=days_ago(3), body={}).seen_on == TODAY
