"""What a scan does, when it happened, and what overtakes it: tables."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from fraginv.base.errors import FraginvError
from fraginv.base.rules.roles import Right
from fraginv.front.forms.scans import FORMS
from fraginv.front.rules.scans import (
    AHEAD,
    KEPT,
    OFFERED,
    OVERTAKES,
    Act,
    Later,
    is_end,
    moment_of,
    overtaken_by,
)
from fraginv.front.scanning import DOING, LABELS
from fraginv.front.views.scans import SENT_TO
from fraginv.stock.rules.happenings import Kind

NOW = datetime(2026, 11, 25, 17, tzinfo=UTC)


def at(**span: float) -> str:
    return (NOW + timedelta(**span)).isoformat()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", NOW),
        ("2026-11-25T16:59:59.125Z", NOW - timedelta(seconds=0.875)),
        ("2026-11-25T11:00:00-05:00", NOW - timedelta(hours=1)),
        (at(seconds=AHEAD.total_seconds()), NOW),
        (at(days=-7), NOW - KEPT),
    ],
)
def test_moments_that_are_taken(text: str, expected: datetime) -> None:
    # RFC 3339: an offset, or Z for UTC.
    assert moment_of(text, now=NOW) == expected


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("now", "input"),
        ("2026-11-25", "input"),
        ("2026-11-25T16:00:00", "input"),
        (at(seconds=121), "input"),
        (at(days=-7, seconds=-1), "too_old"),
        ("9" * 300, "input"),
    ],
)
def test_moments_that_are_refused(text: str, code: str) -> None:
    with pytest.raises(FraginvError) as caught:
        moment_of(text, now=NOW)
    assert caught.value.code == code
    assert len(caught.value.message) < 200


def later(kind: Kind, **body: object) -> Later:
    return Later(kind.value, NOW, "Mira Holt", body)


def test_the_last_of_what_overtakes_is_named() -> None:
    first = later(Kind.PLACED, rack=1)
    last = later(Kind.QUARANTINED)
    seen = later(Kind.INSPECTED)
    assert overtaken_by(Act.MOVE, [first, last, seen], is_lot=False) == last
    assert overtaken_by(Act.MOVE, [seen], is_lot=False) is None
    assert overtaken_by(Act.MOVE, [], is_lot=False) is None


@pytest.mark.parametrize(
    ("act", "one", "expected"),
    [
        (Act.SEEN, later(Kind.INSPECTED, wrong=""), False),
        (Act.SEEN, later(Kind.INSPECTED, wrong="pest"), True),
        (Act.READY, later(Kind.INSPECTED, wrong="pest"), False),
        (Act.READY, later(Kind.INSPECTED, stage="growing"), True),
        (Act.LOSE, later(Kind.INSPECTED), True),
        (Act.LOSE, later(Kind.LET_GO), False),
        (Act.LOSE, later(Kind.SOLD), True),
        (Act.UNLOSE, later(Kind.PLACED), False),
        (Act.UNLOSE, later(Kind.FOUND), True),
        (Act.UNLOSE, later(Kind.UNDONE), True),
        (Act.UNLOSE, later(Kind.JOINED, into=7), True),
        (Act.UNREADY, later(Kind.GRADED), True),
        (Act.UNREADY, later(Kind.HELD), True),
        (Act.UNREADY, later(Kind.INSPECTED, stage="growing"), True),
        (Act.UNREADY, later(Kind.INSPECTED), False),
        (Act.UNREADY, later(Kind.PLACED), False),
        (Act.LABEL, later(Kind.PLACED), False),
    ],
)
def test_what_overtakes(act: Act, one: Later, *, expected: bool) -> None:
    assert (overtaken_by(act, [one], is_lot=False) is not None) == expected


def test_a_loss_from_a_lot_stands_beside_what_came_later() -> None:
    assert overtaken_by(Act.LOSE, [later(Kind.PLACED)], is_lot=True) is None
    assert overtaken_by(Act.MOVE, [later(Kind.PLACED)], is_lot=True) is not None


@pytest.mark.parametrize("is_lot", [True, False])
@pytest.mark.parametrize("kind", [Kind.LOST, Kind.KEPT_BACK, Kind.INSPECTED])
def test_nothing_was_lost_on_a_day_before_another_on_which_it_is_known(
    kind: Kind, *, is_lot: bool
) -> None:
    one = replace(later(kind), day_after=True)
    assert overtaken_by(Act.LOSE, [one], is_lot=is_lot) == one
    assert overtaken_by(Act.MOVE, [one], is_lot=is_lot) is None


def test_every_act_is_offered_or_takes_one_back_and_can_be_sent() -> None:
    back = {Act.UNREADY, Act.UNLOSE, Act.UNLABEL}
    assert {one.act for one in OFFERED} | back == set(Act)
    assert set(FORMS) == set(Act) - {Act.LOOK}
    assert set(DOING) | set(LABELS) == set(FORMS) == set(SENT_TO)
    assert set(OVERTAKES) <= set(DOING)
    assert all(kind in set(Kind) for kinds in OVERTAKES.values() for kind in kinds)
    assert {one.act: one.right for one in OFFERED}[Act.LOSE] == Right.RECORD_LOSS


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("9FN", True),
        (" 9fn ", True),
        ("9F", False),
        ("9FNX", False),
        ("9-N", False),
        ("é12", False),
    ],
)
def test_the_end_of_a_code(text: str, *, expected: bool) -> None:
    assert is_end(text) == expected
