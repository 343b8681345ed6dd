"""Days to ready from cuttings, against likelihoods worked out by SciPy and closed forms."""

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from fraginv.growth.rules.normal import beyond, log_tail, log_tails, mills, mills_of
from fraginv.growth.rules.pace import Seen, Span, Spread, seen_on, tell_days
from fraginv.growth.rules.paces import (
    History,
    Life,
    hazard_with,
    paces_of,
    supposed_days,
    supposed_pace,
    tell,
)
from fraginv.growth.rules.priors import USUAL, USUAL_OVER_LEAST, hazard_before, usual_for
from fraginv.growth.rules.shrinking import Estimate, estimate

DAY = date(2026, 1, 10)
BEFORE = estimate(math.log(80), 0.4)


@pytest.mark.parametrize("z", [-8.0, -1.0, 0.0, 1.2816, 4.99, 5.01, 9.0, 20.0, 24.9])
def test_tails_are_those_of_scipy(z: float) -> None:
    assert log_tail(z) == pytest.approx(stats.norm.logsf(z), rel=1e-9, abs=1e-12)
    assert mills(z) == pytest.approx(math.exp(stats.norm.logpdf(z) - stats.norm.logsf(z)), rel=1e-6)
    assert log_tails(np.array([z]))[0] == pytest.approx(stats.norm.logsf(z), abs=2e-6)
    assert mills_of(np.array([z]))[0] == pytest.approx(mills(z), abs=2e-6)
    for share in (0.1, 0.5, 0.9):
        assert beyond(z, share) == pytest.approx(
            stats.norm.isf((1 - share) * stats.norm.sf(z)), abs=1e-7
        )
    assert log_tail(30) == pytest.approx(stats.norm.logsf(30), rel=1e-6)
    assert 40 < beyond(40, 0.5) < 40.1


def simulated(seed: int, *, cuttings: int, most: float = 160) -> list[Seen]:
    """Return frags of which some are censored before they are ready."""
    chance = np.random.default_rng(seed)
    found = []
    for place in range(cuttings):
        middle = chance.normal(4.5, 0.2)
        for _ in range(6):
            days = math.exp(chance.normal(middle, 0.12))
            last = chance.uniform(40, most)
            age = max(1, round(min(days, last)))
            found.append(Seen((place, DAY), age, bool(days <= last), 1))
    return found


def likelihood(seen: list[Seen], *, mean: float, spread: Spread) -> float:
    """Return the logarithm of the marginal likelihood of a variety's mean, by quadrature."""
    total, middles = 0.0, np.linspace(3.0, 6.5, 3001)
    for cutting in dict.fromkeys(one.cutting for one in seen):
        told = stats.norm.logpdf(middles, mean, spread.between)
        for one in seen:
            if one.cutting == cutting:
                law = stats.norm(middles, spread.within)
                told += (law.logpdf if one.is_ready else law.logsf)(math.log(one.age))
        total += math.log(integrate.trapezoid(np.exp(told + 20), middles))
    return total


def test_the_mean_and_its_error_are_those_of_the_whole_likelihood() -> None:
    seen = simulated(3, cuttings=8)
    told = tell_days(seen, before=BEFORE)
    assert 0 < sum(one.is_ready for one in seen) < len(seen)

    def minus(mean: float) -> float:
        return -likelihood(seen, mean=mean, spread=told.spread)

    best = float(optimize.minimize_scalar(minus, bounds=(4, 5), method="bounded").x)
    bend = (minus(best + 0.02) - 2 * minus(best) + minus(best - 0.02)) / 0.02**2
    assert told.own.mean == pytest.approx(best, abs=0.003)
    assert told.own.sd == pytest.approx(1 / math.sqrt(bend), rel=0.03)
    assert told.cuttings == 8


def test_without_censoring_it_is_the_mean_of_the_cuttings() -> None:
    """Balanced one-way layout: the mean of means, its error from both spreads (closed form)."""
    ages = [(60, 66, 70), (80, 90, 85), (72, 75, 71)]
    seen = [
        Seen((place, DAY), age, True, 1) for place, cutting in enumerate(ages) for age in cutting
    ]
    told = tell_days(seen, before=BEFORE)
    means = [sum(map(math.log, cutting)) / 3 for cutting in ages]
    assert told.own.mean == pytest.approx(sum(means) / 3, abs=0.002)
    error = math.sqrt((told.spread.between**2 + told.spread.within**2 / 3) / 3)
    assert told.own.sd == pytest.approx(error, rel=0.03)


def test_frags_of_one_cutting_are_not_independent() -> None:
    one_cutting = [Seen((1, DAY), 90, True, 24)]
    eight = [Seen((place, DAY), 90, True, 3) for place in range(8)]
    alone, many = (tell_days(seen, before=BEFORE) for seen in (one_cutting, eight))
    assert alone.ready == many.ready == 24
    assert many.own.precision > 5 * alone.own.precision


def test_what_is_not_ready_yet_counts() -> None:
    """Leaving out what grows still would say that all is ready after 60 days."""
    quick = [Seen((place, DAY), 60, True, 2) for place in range(4)]
    slow = [Seen((place, DAY), 100, False, 4) for place in range(4, 8)]
    assert math.exp(tell_days(quick, before=BEFORE).own.mean) == pytest.approx(60, rel=0.02)
    assert math.exp(tell_days(quick + slow, before=BEFORE).own.mean) > 80


def test_nothing_tells_nothing() -> None:
    assert tell_days([], before=BEFORE).own.precision == 0
    fresh = tell_days([Seen((1, DAY), 2, False, 6)], before=BEFORE)
    assert fresh.own.precision < 0.01 * BEFORE.precision
    assert fresh.ready == 0


def test_nothing_that_happened_later_is_known() -> None:
    days = [timedelta(days=number) for number in (0, 30, 60, 90)]
    spans = [
        Span((1, DAY), DAY, DAY + days[2], None, 3),
        Span((1, DAY), DAY, None, DAY + days[1], 1),
        Span((2, DAY + days[3]), DAY + days[3], None, None, 5),
    ]
    then = list(seen_on(spans, day=DAY + timedelta(days=45)))
    assert [(one.age, one.is_ready) for one in then] == [(45, False), (30, False)]
    later = list(seen_on(spans, day=DAY + timedelta(days=100)))
    assert [(one.age, one.is_ready) for one in later] == [(60, True), (30, False), (10, False)]
    assert list(seen_on(spans, day=DAY - days[1])) == []


def history(variety: int, *ages: int, group: str = "SPS", least: int | None = None) -> History:
    """Return cuttings of six frags that were ready at once."""
    spans = [
        Span((place, DAY), DAY, DAY + timedelta(days=age), None, 6)
        for place, age in enumerate(ages)
    ]
    return History(variety, group, least, spans)


def paces(*histories: History) -> dict[int, float]:
    told = [tell(one, day=DAY + timedelta(days=900)) for one in histories]
    return {key: math.exp(pace.log_days) for key, pace in paces_of(told).items()}


@given(st.lists(st.integers(min_value=20, max_value=400), min_size=1, max_size=6))
def test_the_usual_days_lie_between_ones_own_and_the_groups(ages: list[int]) -> None:
    own = math.exp(sum(map(math.log, ages)) / len(ages))
    found = paces(history(1, *ages))[1]
    low, high = sorted([own, USUAL["SPS"].days])
    assert low * 0.995 <= found <= high * 1.005


def test_the_more_of_its_own_the_less_the_group_counts() -> None:
    found = [paces(history(1, *[150] * many))[1] for many in (1, 2, 4, 8, 16)]
    assert found == sorted(found)
    assert USUAL["SPS"].days < found[0] < found[-1] < 150
    assert found[-1] > 142


def test_a_new_variety_learns_from_its_group_and_not_from_others() -> None:
    slow = [history(number, 160, 150, 170, 155) for number in range(1, 5)]
    found = paces(*slow, history(9), history(10, group="zoanthid"))
    assert found[9] > 1.2 * USUAL["SPS"].days
    assert found[10] == pytest.approx(USUAL["zoanthid"].days)


def test_what_somebody_wrote_down_stands_instead_of_the_group() -> None:
    assert paces(history(1, least=200))[1] == pytest.approx(200 * USUAL_OVER_LEAST)
    assert paces(history(1, 100, 100, 100, least=200))[1] < 200
    assert math.exp(supposed_days("SPS", 60).mean) == pytest.approx(75)
    assert supposed_pace("other").ready == 0
    assert usual_for("no such group") == usual_for("other")


# Source: the remission data of Freireich et al., Blood 21 (1963) 699-716: 30 events over 541
# weeks of patients, 0.0555 a week in all.
def test_deaths_a_piece_and_day_are_counted_as_printed() -> None:
    many = 10_000
    found = hazard_with(Life(30 * many, 541 * many), before=0.01)
    assert f"{found:.4f}" == "0.0555"
    assert hazard_with(Life(), before=0.01) == pytest.approx(0.01)
    assert 0.01 < hazard_with(Life(3, 100), before=0.01) < 0.03
    assert math.exp(-hazard_before() * 365.25) == pytest.approx(0.65)


def test_survival_is_a_share_and_gives_its_deaths_back() -> None:
    pace = supposed_pace("zoanthid")
    assert 0.8 < pace.survival < 1
    assert pace.hazard == pytest.approx(hazard_before())


def test_an_estimate_of_nothing_stays_one() -> None:
    assert Estimate().sd == math.inf
    assert Estimate().blurred(2) == Estimate()
