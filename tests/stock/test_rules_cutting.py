"""What a cutting may be. The limits are the house's own; trade facts are common practice."""

from datetime import date

import pytest

from fraginv.base.errors import Conflict, InputError
from fraginv.stock.rules.cutting import check_day, check_pieces, check_rest, rests_until

CUT_ON = date(2026, 11, 1)


@pytest.mark.parametrize(("pieces", "lost"), [(1, 0), (12, 1), (500, 500)])
def test_pieces_that_a_sitting_can_give(pieces: int, lost: int) -> None:
    check_pieces(pieces, lost=lost)


@pytest.mark.parametrize(
    ("pieces", "lost", "said"),
    [
        (0, 0, "0 living pieces: one cutting gives 1 to 500"),
        (-3, 0, "-3 living pieces"),
        (501, 0, "501 living pieces"),
        (10_000, 0, "10,000 living pieces"),
        (5, -1, "-1 lost at the bench"),
        (5, 501, "501 lost at the bench: write a number from 0 to 500"),
    ],
)
def test_pieces_that_cannot_be(pieces: int, lost: int, said: str) -> None:
    with pytest.raises(InputError, match=said):
        check_pieces(pieces, lost=lost)


def test_day_is_today_or_earlier_but_not_before_the_colony() -> None:
    today = date(2026, 11, 25)
    check_day(today, today=today, earliest=today)
    check_day(date(2026, 1, 1), today=today)
    with pytest.raises(InputError, match="2026-11-26 has not come yet"):
        check_day(date(2026, 11, 26), today=today)
    with pytest.raises(InputError, match="before the colony came in, on 2026-11-25"):
        check_day(date(2026, 11, 24), today=today, earliest=today)


@pytest.mark.parametrize(
    ("day", "allowed"),
    [
        (date(2026, 10, 31), True),  # the day before the last cutting: keyed late
        (date(2026, 11, 1), True),  # the same sitting goes on
        (date(2026, 11, 2), False),
        (date(2026, 11, 30), False),
        (date(2026, 12, 1), True),  # 30 days later
    ],
)
def test_rest_lasts_its_days(day: date, *, allowed: bool) -> None:
    assert rests_until(CUT_ON, rest_days=30) == date(2026, 12, 1)
    if allowed:
        assert check_rest(day, last_cut=CUT_ON, rest_days=30, despite_rest="No need") == ""
        return
    with pytest.raises(Conflict, match="was cut on 2026-11-01 and rests until 2026-12-01") as told:
        check_rest(day, last_cut=CUT_ON, rest_days=30, despite_rest="  ")
    assert told.value.data["until"] == date(2026, 12, 1)
    why = check_rest(day, last_cut=CUT_ON, rest_days=30, despite_rest=" It broke in two ")
    assert why == "It broke in two"


def test_colony_that_was_never_cut_or_needs_no_rest() -> None:
    assert rests_until(None, rest_days=30) is None
    check_rest(CUT_ON, last_cut=None, rest_days=30)
    check_rest(CUT_ON, last_cut=CUT_ON, rest_days=0)
