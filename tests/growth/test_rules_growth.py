"""Growth between two sizes against published figures, and its uncertainty against chance."""

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.growth.rules.growth import (
    SHRANK,
    TOO_FAST,
    Known,
    Size,
    area_error_of,
    change_a_day,
    doubling_days,
    linear_doubling_days,
    percent_growth,
    specific_rate,
    step_between,
    times,
)

DAY = date(2026, 3, 1)


def size(days: int, *, area: float = 0.0, across: float = 0.0, sigma: float = 0.0) -> Size:
    return Size(
        DAY + timedelta(days=days),
        Known(area, sigma * area) if area else None,
        Known(across, sigma * across) if across else None,
    )


def test_a_doubling_in_45_days_is_1_540_percent_a_day() -> None:
    found = specific_rate(Known(100, 0), Known(200, 0), days=45)
    assert f"{found.value:.3f}" == "1.540"
    assert doubling_days(found.value) == pytest.approx(45)


# Source: Front. Mar. Sci. 2021, 8:623963 (abstract): mean growth 545 % in 193 days, doubled in
# 45 days. Neither linear nor compound growth gives 45: the published figure lies between.
def test_the_published_doubling_lies_between_linear_and_compound_growth() -> None:
    compound = specific_rate(Known(100, 0), Known(645, 0), days=193)
    assert f"{compound.value:.3f}" == "0.966"
    assert round(doubling_days(compound.value) or 0) == 72
    assert round(linear_doubling_days(545, days=193)) == 35
    assert 35 < 45 < 72


# Source: Zaidi, Tan, Liew 2022, Borneo J. Mar. Sci. Aquac. 6 (abstract): mm a day; centimetres
# a year worked out from them.
@pytest.mark.parametrize(("mm_day", "cm_year"), [("0.091", "3.3"), ("0.166", "6.1")])
def test_extension_in_both_units(mm_day: str, cm_year: str) -> None:
    step = step_between(size(0, across=20), size(100, across=20 + 100 * float(mm_day)))
    assert step.mm_day is not None
    assert step.cm_year is not None
    assert f"{step.mm_day.value:.3f}" == mm_day
    assert f"{step.cm_year.value:.1f}" == cm_year
    assert step.flags == ()


# Source: isotropic scaling, a worked table: 2 % of length is 4.04 % of area, 5 % is 10.25 %.
@pytest.mark.parametrize(("length", "area"), [(0.02, "4.04"), (0.05, "10.25")])
def test_an_error_of_length_as_one_of_area(length: float, area: str) -> None:
    assert f"{100 * area_error_of(length):.2f}" == area


# Source: Forsman et al. 2015, PeerJ 3:e1313 (abstract): up to 63 cm² a month on a tile.
def test_areal_growth_in_square_centimetres_a_month() -> None:
    step = step_between(size(0, area=300), size(61, area=300 + 2 * 6_300))
    assert step.cm2_month is not None
    assert step.cm2_month.value == pytest.approx(63, rel=0.005)


def test_percent_and_its_uncertainty_are_those_of_many_measurements() -> None:
    chance = np.random.default_rng(5)
    before, after = Known(200, 8), Known(500, 15)
    first = chance.normal(before.value, before.sigma, 200_000)
    second = chance.normal(after.value, after.sigma, 200_000)
    percent = percent_growth(before, after)
    assert percent.value == pytest.approx(150)
    assert percent.sigma == pytest.approx(float(np.std(100 * (second - first) / first)), rel=0.02)
    rate = specific_rate(before, after, days=60)
    assert rate.sigma == pytest.approx(float(np.std(100 * np.log(second / first) / 60)), rel=0.02)
    daily = change_a_day(before, after, days=60)
    assert daily.sigma == pytest.approx(float(np.std((second - first) / 60)), rel=0.02)


def test_what_is_impossible_is_flagged_and_still_told() -> None:
    shrank = step_between(size(0, area=500, sigma=0.02), size(60, area=400, sigma=0.02))
    assert shrank.flags == (SHRANK,)
    assert shrank.percent is not None
    assert shrank.percent.value == pytest.approx(-20)
    assert shrank.doubling_days is None
    fast = step_between(size(0, across=20, sigma=0.01), size(30, across=40, sigma=0.01))
    assert fast.flags == (TOO_FAST,)
    assert fast.cm_year is not None
    assert fast.cm_year.value > 20


def test_what_may_be_measuring_error_is_not_flagged() -> None:
    assert step_between(size(0, area=500, sigma=0.05), size(60, area=480, sigma=0.05)).flags == ()
    # Half a millimetre in a day would be 18 cm a year, one and a half 55: within the error.
    near = step_between(size(0, across=30, sigma=0.03), size(1, across=31.5, sigma=0.03))
    assert near.flags == ()


def test_what_is_not_known_is_not_told() -> None:
    step = step_between(size(0, across=20), size(30, area=300))
    assert (step.mm_day, step.cm2_month, step.percent, step.rate) == (None, None, None, None)
    same_day = step_between(size(5, area=300), size(5, area=310))
    assert (same_day.days, same_day.percent) == (0, None)
    for wrong in (0, -3):
        with pytest.raises(ValueError, match="two days"):
            specific_rate(Known(1, 0), Known(2, 0), days=wrong)
        with pytest.raises(ValueError, match="two days"):
            change_a_day(Known(1, 0), Known(2, 0), days=wrong)
    with pytest.raises(ValueError, match="does not double"):
        linear_doubling_days(-5, days=10)


areas = st.floats(min_value=1, max_value=1e5)


@given(areas, areas, st.integers(min_value=1, max_value=2000))
def test_rates_agree_with_percent_and_turn_around(one: float, two: float, days: int) -> None:
    there = specific_rate(Known(one, 0), Known(two, 0), days=days)
    back = specific_rate(Known(two, 0), Known(one, 0), days=days)
    assert there.value == pytest.approx(-back.value)
    grown = math.exp(there.value / 100 * days)
    assert percent_growth(Known(one, 0), Known(two, 0)).value == pytest.approx(
        100 * (grown - 1), rel=1e-6, abs=1e-6
    )
    assert times(there, -2).sigma >= 0
