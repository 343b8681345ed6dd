"""The picture of the last months."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.reports.rules.trend import (
    LEFT,
    MOST_LINES,
    TOP,
    WIDTH,
    TrendMonth,
    draw_chart,
    level_step,
)

AMOUNTS = st.integers(min_value=0, max_value=10**11)
MONTHS = st.lists(
    st.builds(TrendMonth, st.integers(202501, 202512), AMOUNTS, AMOUNTS), min_size=1, max_size=24
)


@pytest.mark.parametrize(
    ("highest", "step"),
    [(0, 1), (4, 1), (5, 2), (9, 5), (20, 5), (21, 10), (180_000, 50_000), (211_610, 100_000)],
)
def test_levels_are_round(highest: int, step: int) -> None:
    assert level_step(highest) == step


@given(MONTHS)
def test_bars_stand_on_the_foot_inside_the_picture(months: list[TrendMonth]) -> None:
    chart = draw_chart(months)
    assert len(chart.slots) == len(months)
    assert 1 <= len(chart.levels) <= MOST_LINES + 1
    for slot, month in zip(chart.slots, months, strict=True):
        for bar, amount in ((slot.running, month.running), (slot.income, month.income)):
            assert bar.y + bar.height == chart.foot
            assert TOP <= bar.y <= chart.foot
            assert bar.x >= LEFT
            assert bar.x + bar.width <= WIDTH
            assert amount or not bar.height
        assert slot.running.x <= slot.income.x
        assert slot.income.x + slot.income.width <= slot.running.x + slot.running.width


@given(MONTHS)
def test_a_larger_amount_has_no_lower_bar(months: list[TrendMonth]) -> None:
    chart = draw_chart(months, height=280)
    bars = [
        pair
        for slot, month in zip(chart.slots, months, strict=True)
        for pair in ((month.running, slot.running.height), (month.income, slot.income.height))
    ]
    heights = [height for _, height in sorted(bars)]
    assert heights == sorted(heights)


def test_a_bar_is_in_proportion() -> None:
    chart = draw_chart([TrendMonth(202611, 50_000, 200_000)])
    (slot,) = chart.slots
    assert slot.running.height == pytest.approx(4 * slot.income.height, abs=2)
    assert [level.amount for level in chart.levels] == [0, 50_000, 100_000, 150_000, 200_000]


def test_income_below_zero_has_no_bar() -> None:
    (slot,) = draw_chart([TrendMonth(202611, -500, 1_000)]).slots
    assert slot.income.height == 0


def test_nothing_at_all_is_an_empty_picture() -> None:
    assert draw_chart([]).slots == ()
    assert [level.amount for level in draw_chart([TrendMonth(202611, 0, 0)]).levels] == [0]
