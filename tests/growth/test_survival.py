"""Kaplan-Meier against printed tables and a library."""

import random
import warnings
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fraginv.growth.rules.survival import Ages, Band, ages_of, kaplan_meier

TREATED = [6, 6, 6, 7, 10, 13, 16, 22, 23]
TREATED_ON = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]

# Source: Freireich et al., Blood 21 (1963) 699-716; table and bands (on the plain logarithm)
# as printed in public course notes on Klein and Moeschberger's data.
PRINTED = [
    (6, 21, 3, "0.857", "0.0764", "0.720", "1.000"),
    (7, 17, 1, "0.807", "0.0869", "0.653", "0.996"),
    (10, 15, 1, "0.753", "0.0963", "0.586", "0.968"),
    (13, 12, 1, "0.690", "0.1068", "0.510", "0.935"),
    (16, 11, 1, "0.627", "0.1141", "0.439", "0.896"),
    (22, 7, 1, "0.538", "0.1282", "0.337", "0.858"),
    (23, 6, 1, "0.448", "0.1346", "0.249", "0.807"),
]


def lives(died: list[int], on: list[int]) -> Ages:
    return ages_of([*((age, True, 1) for age in died), *((age, False, 1) for age in on)])


def test_remission_to_the_printed_digits() -> None:
    curve = kaplan_meier(lives(TREATED, TREATED_ON), band=Band.LOG)
    assert [
        (
            *(step.age, step.at_risk, step.lost),
            *(f"{float(step.survival):.3f}", f"{step.error:.4f}"),
            *(f"{step.low:.3f}", f"{step.high:.3f}"),
        )
        for step in curve.steps
    ] == PRINTED
    assert curve.median == 23
    assert curve.last == 35


def test_the_group_without_treatment() -> None:
    """Median 8 weeks, and the standard error 0.106 at week 8.

    Source: public lecture notes on Cox and Oakes, table 1.1.
    """
    curve = kaplan_meier(lives(PLACEBO, []))
    assert curve.median == 8
    step = curve.at(8)
    assert step is not None
    assert f"{float(step.survival):.3f} {step.error:.3f}" == "0.381 0.106"
    assert curve.steps[-1].survival == 0
    assert curve.steps[-1].low is curve.steps[-1].high is curve.steps[-1].error is None
    assert curve.lost + kaplan_meier(lives(TREATED, TREATED_ON)).lost == 30
    assert sum(PLACEBO) + sum(TREATED) + sum(TREATED_ON) == 541


def test_a_small_group_that_dies_out() -> None:
    """Source: Bewick, Cheek and Ball, Critical Care 8:389 (2004), table 2."""
    curve = kaplan_meier(lives([1, 1, 4, 5, 9, 22], [6, 9]))
    assert [(step.age, step.at_risk, step.lost) for step in curve.steps] == [
        *((1, 8, 2), (4, 6, 1), (5, 5, 1), (9, 3, 1), (22, 1, 1))
    ]
    exact = [Fraction(3, 4), Fraction(5, 8), Fraction(1, 2), Fraction(1, 3), Fraction(0)]
    assert [step.survival for step in curve.steps] == exact
    assert curve.median == 5  # exactly a half counts as half or fewer


def random_lives(seed: int) -> tuple[list[int], list[int]]:
    """Give ages with many ties among deaths and others."""
    chance = random.Random(seed)
    size = chance.randint(5, 200)
    died = [chance.randint(1, 60) for _ in range(size)]
    on = [chance.randint(1, 60) for _ in range(chance.randint(0, size))]
    return died, on


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("band", list(Band))
def test_like_the_library_on_random_lives(seed: int, band: Band) -> None:
    """Source: scipy.stats.ecdf of right-censored data, Greenwood's bands."""
    died, on = random_lives(seed)
    curve = kaplan_meier(lives(died, on), band=band)
    survival = stats.ecdf(stats.CensoredData(uncensored=died, right=on)).sf
    for step in curve.steps:
        assert float(step.survival) == pytest.approx(survival.evaluate(step.age), abs=1e-12)
    if band is Band.LOG:
        return  # the library has the plain band and this one only
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="The confidence interval is undefined")
        interval = survival.confidence_interval(confidence_level=0.95, method="log-log")
    for step in curve.steps:
        if step.low is not None:
            assert step.low == pytest.approx(interval.low.evaluate(step.age), abs=1e-9)
            assert step.high == pytest.approx(interval.high.evaluate(step.age), abs=1e-9)


def test_a_lot_weighs_as_many_as_it_has() -> None:
    died, on = random_lives(7)
    single = kaplan_meier(lives(died, on))
    counted = ages_of(
        [(age, True, died.count(age)) for age in set(died)]
        + [(age, False, on.count(age)) for age in set(on)]
    )
    assert kaplan_meier(counted).steps == single.steps


def test_what_comes_in_later_counts_from_then_on() -> None:
    """Of ten, two die at 5; five are found at 8 and make thirteen, of which one dies then."""
    curve = kaplan_meier(Ages(10, {5: 2, 8: 1, 9: 1}, {20: 11}, {8: 5}))
    assert [step.at_risk for step in curve.steps] == [10, 13, 12]
    assert curve.steps[-1].survival == Fraction(8, 10) * Fraction(12, 13) * Fraction(11, 12)
    assert [curve.alive_at(age) for age in (0, 9, 20, 21)] == [10, 12, 11, 0]


def test_what_goes_over_to_another_code_changes_nothing() -> None:
    plain = kaplan_meier(Ages(10, {5: 2}, {9: 8}))
    parted = kaplan_meier(Ages(10, {5: 2}, {9: 8}, joined={5: 4}, moved={5: 4}))
    assert parted.steps == plain.steps


def test_nobody_died_and_nobody_was_there() -> None:
    quiet = kaplan_meier(lives([], [5, 9]))
    assert (quiet.steps, quiet.median, quiet.last, quiet.lost) == ([], None, 9, 0)
    assert quiet.at(7) is None
    empty = kaplan_meier(lives([], []))
    assert (empty.begun, empty.last, empty.alive_at(0)) == (0, 0, 0)


def test_more_cannot_die_than_are_there() -> None:
    with pytest.raises(ValueError, match="3 lost at 2 days of 2"):
        kaplan_meier(Ages(2, {2: 3}, {}))


@given(st.lists(st.tuples(st.integers(0, 90), st.booleans(), st.integers(1, 40)), min_size=1))
def test_shares_fall_and_stay_within_their_band(told: list[tuple[int, bool, int]]) -> None:
    curve = kaplan_meier(ages_of(told))
    shares = [Fraction(1), *(step.survival for step in curve.steps)]
    assert all(one > after >= 0 for one, after in zip(shares, shares[1:], strict=False))
    for step in curve.steps:
        if step.low is not None and step.high is not None:
            assert 0 <= step.low <= float(step.survival) + 1e-12
            assert float(step.survival) <= step.high + 1e-12 <= 1 + 1e-9


def test_a_loss_before_its_pieces_came_counts_once_they_are_there() -> None:
    ages = Ages(5, {4: 2, 9: 1}, {2: 5, 12: 1}, joined={6: 4})
    with pytest.raises(ValueError, match="2 lost at 4 days of 0"):
        kaplan_meier(ages)
    steps = kaplan_meier(ages.in_order()).steps
    assert [(step.age, step.at_risk, step.lost) for step in steps] == [(6, 4, 2), (9, 2, 1)]


@given(st.lists(st.tuples(st.integers(0, 90), st.booleans(), st.integers(1, 40)), min_size=1))
def test_what_is_in_order_stays_as_it_is(told: list[tuple[int, bool, int]]) -> None:
    ages = ages_of(told)
    assert ages.in_order().lost == {age: n for age, n in ages.lost.items() if n}
