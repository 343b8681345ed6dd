"""Growth rates by weighted regression and random effects, against NumPy and a printed example."""

import math
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.growth.rules.growth import Known, Size
from fraginv.growth.rules.priors import READY_SD, usual_for
from fraginv.growth.rules.rates import (
    SCATTER,
    Grown,
    Point,
    line_through,
    own_rate,
    points_of,
    size_when_ready,
    tell_sizes,
)
from fraginv.growth.rules.shrinking import (
    Estimate,
    drawn_together,
    estimate,
    mixed_variance,
    spread_of,
    together,
)

DAY = date(2026, 2, 1)
POINTS = [Point(0, 5.0, 0.06), Point(20, 5.3, 0.08), Point(45, 5.35, 0.05), Point(70, 5.8, 0.1)]


def sizes(*told: tuple[int, float]) -> list[Size]:
    return [Size(DAY + timedelta(days=day), Known(area, 0.03 * area)) for day, area in told]


def test_a_line_is_that_of_weighted_least_squares() -> None:
    line = line_through(POINTS, before=Estimate())
    days, heights = [p.day - 70 for p in POINTS], [p.log_area for p in POINTS]
    weights = [1 / p.sigma for p in POINTS]
    (rate, height), covariance = np.polyfit(days, heights, 1, w=weights, cov="unscaled")
    assert line.rate == pytest.approx(rate)
    assert line.height == pytest.approx(height)
    assert line.var_rate == pytest.approx(covariance[0, 0])
    assert line.var_height == pytest.approx(covariance[1, 1])
    assert line.cov == pytest.approx(covariance[0, 1])
    there = np.array([30.0, 1.0])
    assert line.sigma_at(100) == pytest.approx(math.sqrt(there @ covariance @ there))
    assert line.at(100) == pytest.approx(height + 30 * rate)


def test_a_supposed_rate_is_one_more_observation_of_it() -> None:
    before = estimate(0.02, 0.004)
    line = line_through(POINTS, before=before)
    own = line_through(POINTS, before=Estimate())
    both = together(Estimate(own.rate, 1 / own.var_rate), before)
    assert line.rate == pytest.approx(both.mean)
    assert line.var_rate == pytest.approx(1 / both.precision)
    one = line_through(POINTS[:1], before=before)
    assert one.rate == pytest.approx(0.02)
    assert one.height == pytest.approx(5.0)
    assert one.sigma_at(50) == pytest.approx(math.hypot(0.06, 50 * 0.004))


def test_a_line_needs_something_to_go_through() -> None:
    for points in ([], POINTS[:1]):
        with pytest.raises(ValueError, match="two points"):
            line_through(points, before=Estimate())
    with pytest.raises(ValueError, match="different days"):
        line_through([POINTS[0], POINTS[0]], before=Estimate())


# Source: thirteen trials of BCG vaccine (Colditz et al., JAMA 271 (1994) 698-702), the worked
# example of the R package metafor: DerSimonian-Laird gives tau² 0.3088, mean −0.7141 with
# standard error 0.1787 (figures from memory).
TRIALS = [
    (4, 119, 11, 128),
    (6, 300, 29, 274),
    (3, 228, 11, 209),
    (62, 13536, 248, 12619),
    (33, 5036, 47, 5761),
    (180, 1361, 372, 1079),
    (8, 2537, 10, 619),
    (505, 87886, 499, 87892),
    (29, 7470, 45, 7232),
    (17, 1699, 65, 1600),
    (186, 50448, 141, 27197),
    (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
]


def test_random_effects_are_those_of_a_printed_example() -> None:
    told = []
    for ill, well, others_ill, others_well in TRIALS:
        ratio = math.log(ill / (ill + well) / (others_ill / (others_ill + others_well)))
        variance = 1 / ill - 1 / (ill + well) + 1 / others_ill - 1 / (others_ill + others_well)
        told.append(Estimate(ratio, 1 / variance))
    variance, count = spread_of(told)
    whole = together(*(one.blurred(math.sqrt(variance)) for one in told))
    assert f"{variance:.4f}" == "0.3088"
    assert f"{whole.mean:.4f}" == "-0.7141"
    assert f"{whole.sd:.4f}" == "0.1787"
    assert count == 12
    assert spread_of(told[:1]) == (0.0, 0)


estimates = st.builds(
    estimate, st.floats(-3, 3), st.floats(min_value=0.05, max_value=2, exclude_min=True)
)


@given(st.lists(estimates, min_size=1, max_size=6), estimates, st.floats(0.05, 1))
def test_each_is_drawn_between_itself_and_the_others(
    told: list[Estimate], before: Estimate, spread: float
) -> None:
    found = drawn_together(dict(enumerate(told)), before=before, spread=spread)
    for place, one in enumerate(told):
        others = [other.mean for number, other in enumerate(told) if number != place]
        low, high = min([before.mean, one.mean, *others]), max([before.mean, one.mean, *others])
        assert low - 1e-9 <= found[place].mean <= high + 1e-9
        assert found[place].precision >= one.precision * (1 - 1e-9)


def test_what_is_drawn_together_is_the_whole_normal_model() -> None:
    """The posterior means of the joint normal model, by solving its linear system."""
    told = {1: estimate(0.5, 0.3), 2: estimate(-0.2, 0.2), 3: estimate(1.5, 0.5)}
    before, spread = estimate(0.1, 0.4), 0.25
    # Unknowns: the group's mean and three members; each statement adds to precision and pull.
    system, pull = np.zeros((4, 4)), np.zeros(4)
    system[0, 0], pull[0] = before.precision, before.precision * before.mean
    for key, one in told.items():
        link = np.zeros(4)
        link[0], link[key] = -1, 1
        system += np.outer(link, link) / spread**2
        system[key, key] += one.precision
        pull[key] += one.precision * one.mean
    means, covariance = np.linalg.solve(system, pull), np.linalg.inv(system)
    found = drawn_together(told, before=before, spread=spread)
    for key in told:
        assert found[key].mean == pytest.approx(means[key])
        assert found[key].sd == pytest.approx(math.sqrt(covariance[key, key]))


def test_who_was_not_measured_gets_what_the_others_tell() -> None:
    found = drawn_together(
        {1: estimate(1.0, 0.1), 2: Estimate()}, before=estimate(0.0, 0.5), spread=0.2
    )
    assert 0.5 < found[2].mean < found[1].mean < 1.0


@given(st.floats(0, 4), st.integers(0, 50))
def test_a_variance_lies_between_its_own_and_the_stated_one(own: float, count: int) -> None:
    found = mixed_variance(own, count, before_sd=1.0, worth=5)
    assert min(own, 1.0) - 1e-9 <= found <= max(own, 1.0) + 1e-9


def test_points_count_what_growth_scatters_beside_the_measuring_error() -> None:
    (point,) = points_of(sizes((10, 500)), since=DAY)
    assert point.sigma == pytest.approx(math.hypot(SCATTER, 0.03))
    assert (point.day, point.log_area) == (10, math.log(500))
    unmeasured = [Size(DAY, None, Known(20, 1)), Size(DAY, Known(0, 0))]
    assert points_of(unmeasured, since=DAY) == []
    assert own_rate(sizes((10, 500), (10, 510)), since=DAY).precision == 0


def test_what_measured_frags_tell_of_their_variety() -> None:
    grown = [
        Grown(
            number,
            (1, DAY),
            DAY,
            DAY + timedelta(days=90),
            sizes(*((day, 300 * math.exp(rate * day)) for day in (0, 30, 60, 85))),
        )
        for number, rate in enumerate((0.008, 0.009, 0.010, 0.011, 0.012))
    ]
    told = tell_sizes(grown)
    assert (told.frags, told.graded) == (5, 5)
    assert told.rate.mean == pytest.approx(0.010, abs=2e-4)
    assert math.exp(told.ready.mean) == pytest.approx(300 * math.exp(0.9), rel=0.02)
    assert told.ready_sd < READY_SD
    assert tell_sizes([]).rate.precision == 0
    before = [one.until(DAY + timedelta(days=40)) for one in grown]
    assert [len(one.sizes) for one in before] == [2] * 5
    assert tell_sizes(before).graded == 0


def test_the_size_at_grading_is_known_only_near_it() -> None:
    near, far = sizes((0, 300), (80, 700)), sizes((0, 300), (40, 500))
    ready = DAY + timedelta(days=90)
    told = size_when_ready(Grown(1, (1, DAY), DAY, ready, near))
    assert told == pytest.approx(math.log(700) + 10 * math.log(700 / 300) / 80)
    assert size_when_ready(Grown(1, (1, DAY), DAY, ready, far)) is None
    assert size_when_ready(Grown(1, (1, DAY), DAY, None, near)) is None
    assert size_when_ready(Grown(1, (1, DAY), DAY, ready, sizes((85, 700)))) == math.log(700)
    assert usual_for("SPS").ready_log_area == pytest.approx(math.log(math.pi / 4 * 900 * 2 / 3))
