"""Growth between two sizes: extension, area, percent, specific rate, each with its uncertainty.

Areas are projected, lengths are largest diameters. Errors of two photographs count as
independent, so that variances add up. Source of the formulas: standard definitions, as the
literature on reared corals uses them (from memory).
"""

import math
from dataclasses import dataclass
from datetime import date
from typing import Final

# Days of a year and a twelfth of it. Source: the Gregorian mean year, rounded.
YEAR_DAYS: Final = 365.25
MONTH_DAYS: Final = YEAR_DAYS / 12
# No coral is known to extend faster. Source: reared and wild Acropora reach 3 to 10 cm a
# year (Zaidi et al. 2022, Ferrari et al. 2017, abstracts); twice that is a slip.
MOST_CM_YEAR: Final = 20.0
# A step counts as told, and not as noise, from so many standard deviations on.
TOLD: Final = 2.0

SHRANK: Final = "smaller than before by more than the measuring error"
TOO_FAST: Final = f"faster than any coral is known to grow (over {MOST_CM_YEAR:.0f} cm a year)"


@dataclass(frozen=True, slots=True)
class Known:
    """A number with its standard deviation, both in its unit."""

    value: float
    sigma: float


@dataclass(frozen=True, slots=True)
class Size:
    """How large a frag was on a day: projected area in mm², largest diameter in mm."""

    day: date
    area: Known | None = None
    diameter: Known | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """Growth from one size to a later one; what cannot be told is None.

    Attributes: ``days`` between them; extension of the largest diameter; ``percent`` and
        ``rate`` (percent a day) of the projected area; ``flags`` say what is impossible.
    """

    days: int
    mm_day: Known | None = None
    cm_year: Known | None = None
    cm2_month: Known | None = None
    percent: Known | None = None
    rate: Known | None = None
    doubling_days: float | None = None
    flags: tuple[str, ...] = ()


def change_a_day(before: Known, after: Known, *, days: float) -> Known:
    """Return how much a quantity changed a day, in its unit.

    Raises: ValueError for no time between them.
    """
    if days <= 0:
        raise ValueError("growth needs two days, the later one second")
    return Known((after.value - before.value) / days, math.hypot(before.sigma, after.sigma) / days)


def times(known: Known, factor: float) -> Known:
    """Return a number in another unit, so many of which make one."""
    return Known(known.value * factor, known.sigma * abs(factor))


def relative_error(before: Known, after: Known) -> float:
    """Return the standard deviation of the logarithm of how many times larger one is."""
    return math.hypot(before.sigma / before.value, after.sigma / after.value)


def percent_growth(before: Known, after: Known) -> Known:
    """Return by how many percent of itself a quantity grew: 100 (X₂ − X₁) / X₁."""
    ratio = after.value / before.value
    return Known(100 * (ratio - 1), 100 * ratio * relative_error(before, after))


def specific_rate(before: Known, after: Known, *, days: float) -> Known:
    """Return the specific growth rate in percent a day: 100 (ln X₂ − ln X₁) / (t₂ − t₁).

    Raises: ValueError for no time between them.
    """
    if days <= 0:
        raise ValueError("growth needs two days, the later one second")
    rise = math.log(after.value / before.value)
    return Known(100 * rise / days, 100 * relative_error(before, after) / days)


def doubling_days(rate: float) -> float | None:
    """Return the days in which it doubles at a specific rate in percent a day, None if never."""
    return 100 * math.log(2) / rate if rate > 0 else None


def linear_doubling_days(percent: float, *, days: float) -> float:
    """Return the days to double if it had grown by the same amount each day.

    Growth is neither quite linear nor quite compound: what was published of one species
    lies between the two, so that neither alone is shown as the truth.
    Raises: ValueError for what did not grow.
    """
    if percent <= 0:
        raise ValueError("what did not grow does not double")
    return days * 100 / percent


def area_error_of(length_error: float) -> float:
    """Return the relative error of an area from that of its lengths: (1 + e)² − 1."""
    return (1 + length_error) ** 2 - 1


def step_between(before: Size, after: Size) -> Step:
    """Return the growth from one size to a later one.

    Two of the same day give no rates, only what is impossible.
    """
    days = (after.day - before.day).days
    flags = shrunk(before, after)
    if days <= 0:
        return Step(days, flags=flags)
    lengths, areas = both(before.diameter, after.diameter), both(before.area, after.area)
    mm_day = change_a_day(*lengths, days=days) if lengths else None
    cm_year = times(mm_day, YEAR_DAYS / 10) if mm_day else None
    rate = specific_rate(*areas, days=days) if areas else None
    if cm_year is not None and cm_year.value - TOLD * cm_year.sigma > MOST_CM_YEAR:
        flags = (*flags, TOO_FAST)
    return Step(
        days=days,
        mm_day=mm_day,
        cm_year=cm_year,
        cm2_month=times(change_a_day(*areas, days=days), MONTH_DAYS / 100) if areas else None,
        percent=percent_growth(*areas) if areas else None,
        rate=rate,
        doubling_days=doubling_days(rate.value) if rate else None,
        flags=flags,
    )


def both(one: Known | None, other: Known | None) -> tuple[Known, Known] | None:
    """Return two numbers where both are known and above 0."""
    if one is None or other is None or one.value <= 0 or other.value <= 0:
        return None
    return one, other


def shrunk(before: Size, after: Size) -> tuple[str, ...]:
    """Say where a frag is smaller than before by more than the measuring error."""
    pairs = (both(before.diameter, after.diameter), both(before.area, after.area))
    fell = any(
        one.value - other.value > TOLD * math.hypot(one.sigma, other.sigma)
        for one, other in filter(None, pairs)
    )
    return (SHRANK,) if fell else ()
