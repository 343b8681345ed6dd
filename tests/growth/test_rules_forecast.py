"""The day on which a frag will be ready, held against the normal law and simulated growers."""

import math
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fraginv.growth.rules.checking import Checker, Outcome, became_ready, score
from fraginv.growth.rules.counts import Count, Standing, count_by
from fraginv.growth.rules.forecast import (
    Basis,
    Forecast,
    Growing,
    Outlook,
    forecast,
    size_outlook,
)
from fraginv.growth.rules.growth import Known, Size
from fraginv.growth.rules.pace import Span
from fraginv.growth.rules.paces import History, Pace
from tests.growth.growers import Growers

DAY = date(2026, 5, 4)
PACE = Pace(
    log_days=math.log(80),
    log_days_sd=0.2,
    rate=0.01,
    rate_sd=0.002,
    ready_log_area=math.log(600),
    ready_log_area_sd=0.2,
    survival=0.9,
    ready=24,
)


def measured(*told: tuple[int, float], across: float | None = None) -> list[Size]:
    return [
        Size(
            DAY + timedelta(days=day),
            Known(area, 0.02 * area),
            Known(across, 0.5) if across else None,
        )
        for day, area in told
    ]


def told(growing: Growing, *, after: int, pace: Pace = PACE) -> Forecast:
    found = forecast(growing, pace=pace, today=DAY + timedelta(days=after))
    assert found is not None
    return found


@pytest.mark.parametrize("age", [1, 40, 80, 120, 200])
def test_the_interval_is_that_of_the_cut_off_log_normal(age: int) -> None:
    law = stats.lognorm(s=0.2, scale=80)
    outlook = Outlook(math.log(80), 0.2)
    for share in (0.1, 0.5, 0.9):
        expected = law.isf((1 - share) * law.sf(age))
        assert outlook.days(share, age=age) == pytest.approx(expected, rel=1e-5)
        assert outlook.share_by(expected, age=age) == pytest.approx(share, rel=1e-4)
    assert outlook.share_by(age - 1, age=age) == 0


def test_by_the_usual_days_where_it_is_not_measured() -> None:
    found = told(Growing(DAY), after=0)
    assert found.basis is Basis.USUAL
    assert (found.middle - DAY).days == 80
    assert (found.first - DAY).days == round(80 * math.exp(-0.2 * 1.2816))
    assert (found.last - DAY).days == round(80 * math.exp(0.2 * 1.2816))
    assert (found.measured, found.own) == (0, 24)


def test_what_was_measured_before_it_was_cut_again_tells_nothing() -> None:
    large, small = measured((-60, 900), (-5, 1200)), measured((30, 250), (50, 300))
    again, anew = (Growing(DAY, sizes, 30.0) for sizes in ([*large, *small], small))
    assert told(again, after=60) == told(anew, after=60)
    only_before = told(Growing(DAY, large), after=60)
    assert only_before == told(Growing(DAY), after=60)
    assert only_before.basis is Basis.USUAL


def test_by_size_where_only_that_is_known() -> None:
    """600 mm² from 300 at a hundredth a day: ln 2 / 0.01 days, 69."""
    found = told(Growing(None, measured((0, 300))), after=0)
    assert found.basis is Basis.SIZE
    assert (found.middle - DAY).days == pytest.approx(69, abs=2)
    assert found.measured == 1
    assert forecast(Growing(None), pace=PACE, today=DAY) is None
    widths = [Size(DAY, None, Known(20, 1))]
    assert forecast(Growing(None, widths), pace=PACE, today=DAY) is None


def test_both_together_lie_between_and_are_surer() -> None:
    slow = measured((0, 150), (30, 165), (60, 182))
    by_size = size_outlook(Growing(DAY, slow), pace=PACE)
    assert by_size is not None
    assert math.exp(by_size.mean) > 100
    both = told(Growing(DAY, slow), after=60)
    alone = told(Growing(DAY), after=60)
    assert both.basis is Basis.BOTH
    assert alone.middle < both.middle < DAY + timedelta(days=math.exp(by_size.mean))
    assert both.measured == 3


def test_it_is_ready_at_the_width_at_which_its_variety_is_sold() -> None:
    """A frag that fills half its circle and grows from 20 to 40 mm has four times its area."""
    half = math.pi / 4 * 400 / 2
    found = size_outlook(Growing(None, measured((0, half), across=20), 40), pace=PACE)
    assert found is not None
    assert math.exp(found.mean) == pytest.approx(math.log(4) / 0.01, rel=0.02)
    wider = size_outlook(Growing(None, measured((0, half), across=20), 50), pace=PACE)
    assert wider is not None
    assert wider.mean > found.mean
    length = size_outlook(Growing(None, measured((0, half)), 40), pace=PACE)
    assert length is not None


def test_what_shrinks_is_still_given_a_day() -> None:
    falling = measured((0, 300), (30, 220), (60, 160))
    found = told(Growing(DAY, falling), after=60)
    assert DAY + timedelta(days=60) <= found.first <= found.middle <= found.last


ages = st.integers(min_value=0, max_value=3000)


@given(
    st.floats(math.log(10), math.log(900)),
    st.floats(0.05, 0.9),
    ages,
    st.lists(st.tuples(st.integers(0, 200), st.floats(5, 5000)), max_size=4),
)
def test_an_interval_is_in_order_and_never_in_the_past(
    log_days: float, sd: float, after: int, sizes: list[tuple[int, float]]
) -> None:
    pace = Pace(log_days, sd, 0.01, 0.003, math.log(600), 0.3, 0.9)
    found = told(Growing(DAY, measured(*sorted(sizes))), after=after, pace=pace)
    assert DAY + timedelta(days=after) <= found.first <= found.middle <= found.last


@given(ages, st.integers(1, 400), st.integers(1, 300))
def test_counts_rise_with_the_days_until_pieces_die(age: int, ahead: int, pieces: int) -> None:
    pace = Pace(math.log(80), 0.2, 0.01, 0.002, 6.0, 0.2, survival=1.0)
    today = DAY + timedelta(days=age)
    days = [today, today + timedelta(days=ahead), today + timedelta(days=2 * ahead)]
    counts = count_by([Standing(Growing(DAY), pieces)], pace=pace, today=today, days=days)
    expected = [one.expected for one in counts]
    assert expected == sorted(expected)
    assert expected[0] == pytest.approx(0, abs=1e-9)
    for one in counts:
        assert 0 <= one.least <= one.most <= pieces
        assert one.least - 0.5 <= one.expected <= one.most + 0.5


def test_a_count_is_what_many_trials_give() -> None:
    chance = np.random.default_rng(4)
    cuttings, frags, age, ahead = 6, 10, 50, 30
    standing = [Standing(Growing(DAY), frags) for _ in range(cuttings)]
    today = DAY + timedelta(days=age)
    (count,) = count_by(standing, pace=PACE, today=today, days=[today + timedelta(days=ahead)])
    # What a cutting's frags share is drawn as one that is not ready yet has it.
    shared = chance.normal(math.log(80), math.sqrt(0.2**2 - 0.14**2), 400_000)
    shared = shared[np.exp(chance.normal(shared, 0.14)) > age]
    trials = []
    for _ in range(1500):
        middle = np.repeat(chance.choice(shared, cuttings), frags)
        law = stats.norm.sf((math.log(age) - middle) / 0.14)
        days = np.exp(middle + 0.14 * stats.norm.isf(chance.random(cuttings * frags) * law))
        alive = chance.random(cuttings * frags) < math.exp(-PACE.hazard * ahead)
        trials.append(int(((days <= age + ahead) & alive).sum()))
    assert count.expected == pytest.approx(float(np.mean(trials)), rel=0.04)
    inside = np.mean([count.least <= one <= count.most for one in trials])
    assert 0.75 <= inside <= 0.9


def test_counting_nothing_is_none() -> None:
    assert count_by([], pace=PACE, today=DAY, days=[DAY]) == [Count(DAY, 0, 0, 0)]
    unknown = [Standing(Growing(None), 5)]
    assert count_by(unknown, pace=PACE, today=DAY, days=[DAY]) == [Count(DAY, 0, 0, 0)]


# What was simulated is known exactly, so that the share inside must be about four fifths:
# where groups are as stated, slower, quicker, and with frags that are measured.
@pytest.mark.parametrize(
    "asked",
    [{}, {"shift": 0.2}, {"shift": -0.3}, {"measured": 1.0}],
    ids=["as stated", "slower", "quicker", "measured"],
)
def test_four_of_five_become_ready_inside(asked: dict[str, Any]) -> None:
    found: list[Outcome] = []
    for seed in range(3):
        histories = Growers(seed, cuttings=8, over_days=700, **asked).histories()
        found += Checker(histories, ready_mm={}).outcomes()
    result = score(found)
    assert result.frags > 600
    assert result.inside is not None
    assert 0.75 <= result.inside <= 0.87
    assert result.error_percent is not None
    assert result.error_percent < 20


def test_a_check_knows_nothing_of_what_came_after() -> None:
    """What happens after the half-way moment, to it or others, changes nothing."""
    spans = [Span((1, DAY), DAY, DAY + timedelta(days=100), None, 5)]
    after = DAY + timedelta(days=50)
    later = [
        Span((1, DAY), DAY, after + timedelta(days=1), None, 9),
        Span((2, after), after, after + timedelta(days=9), None, 50),
    ]
    sooner = Span((1, DAY), DAY, None, None, 9)
    found = []
    for known in ([*spans, sooner], [*spans, *later]):
        histories = [History(0, "SPS", None, known)]
        found.append(next(iter(Checker(histories, ready_mm={}).outcomes())).told)
    assert found[0] == found[1]
    assert found[0].own == 0


def test_a_score_counts_each_frag() -> None:
    assert score([]).inside is None
    told = Forecast(DAY, DAY + timedelta(days=10), DAY + timedelta(days=20), Basis.USUAL)
    start = DAY - timedelta(days=40)
    good = Outcome(1, "SPS", start, DAY + timedelta(days=12), told, 3)
    bad = Outcome(1, "SPS", start, DAY + timedelta(days=30), told, 1)
    found = score([good, bad])
    assert (found.frags, found.inside, found.error_days, found.late_days) == (4, 0.75, 2, 2)
    assert found.error_percent == pytest.approx(100 * 2 / 52)
    spans = [Span((1, DAY), DAY, DAY, None, 2), Span((1, DAY), DAY, DAY, None, 3)]
    assert list(became_ready(spans).values()) == [5]
