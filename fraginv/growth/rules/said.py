"""Forecasts and growth in words."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.growth.rules.forecast import FEW, Basis, Forecast
from fraginv.growth.rules.growth import Known, Step
from fraginv.growth.rules.paces import Pace
from fraginv.taxa.rules import GROUP_NAMES

SOON_DAYS: Final = 3
DAYS_SHOWN: Final = 14
WEEKS_SHOWN: Final = 26 * 7
MONTH_DAYS: Final = 30.44
PLURALS: Final = {"macroalga": "macroalgae", "other": "other corals"}


def say_ready(told: Forecast, *, today: date) -> str:
    """Say in a few words when a frag will be ready: *ready in 3–5 weeks*."""
    first, last = ((day - today).days for day in (told.first, told.last))
    if last <= SOON_DAYS:
        return "ready any day now"
    if last < DAYS_SHOWN:
        return f"ready {span_words(first, last, 'day')}"
    if last <= WEEKS_SHOWN:
        return f"ready {span_words(first / 7, last / 7, 'week')}"
    return f"ready {span_words(first / MONTH_DAYS, last / MONTH_DAYS, 'month')}"


def span_words(first: float, last: float, unit: str) -> str:
    """Say a stretch of whole days, weeks or months from now."""
    low, high = rounded(first), max(rounded(last), 1)
    if low == 0:
        return f"within {'a' if high == 1 else high} {unit}{'' if high == 1 else 's'}"
    if low == high:
        return f"in about {'a' if high == 1 else high} {unit}{'' if high == 1 else 's'}"
    return f"in {low}–{high} {unit}s"


def rounded(value: float) -> int:
    """Return the nearest whole number, halves up."""
    return math.floor(value + 0.5)


def say_basis(told: Forecast, *, group: str) -> str:
    """Say what a forecast rests on: how often it was measured, and whose usual weeks."""
    sizes = f"{told.measured} measurement{'' if told.measured == 1 else 's'} of its own"
    if told.basis is Basis.SIZE:
        return f"Rests on {sizes}; how old it is, is not known."
    usual = say_usual(told.own, group=group)
    return f"Rests on {f'{sizes} and ' if told.basis is Basis.BOTH else ''}{usual}."


def say_usual(own: int, *, group: str) -> str:
    """Say whose usual weeks they are."""
    of_group = f"what is usual for {short(group)}"
    if own == 0:
        return f"{of_group}, because none of this variety became ready here yet"
    frags = f"{own} frag{'' if own == 1 else 's'} of this variety that became ready here"
    return f"the weeks of {frags}" if own >= FEW else f"{of_group}, and the weeks of {frags}"


def short(group: str) -> str:
    """Name a group shortly: SPS, or zoanthids."""
    name = GROUP_NAMES.get(group, group)
    return PLURALS.get(group) or (group if "(" in name else f"{name[0].lower()}{name[1:]}s")


@dataclass(frozen=True, slots=True)
class UsualWords:
    """What is known of a variety's growth, in words."""

    weeks: str
    weeks_from: str
    rate: str
    rate_from: str
    survival: str


def say_pace(pace: Pace, *, group: str) -> UsualWords:
    """Say the usual weeks to ready with their spread, the growth, and how many live."""
    middle = math.exp(pace.log_days)
    low, high = (math.exp(pace.log_days + z * 1.2816 * pace.log_days_sd) for z in (-1, 1))
    measured = f"{pace.measured} measured frag{'' if pace.measured == 1 else 's'}"
    stated = f"as usual for {short(group)}, none is measured twice yet"
    return UsualWords(
        weeks=f"{weeks(middle)} weeks, 8 of 10 between {weeks(low)} and {weeks(high)}",
        weeks_from=say_usual(pace.ready, group=group),
        rate=(
            f"{100 * pace.rate:.2f} % a day of projected area"
            f"{doubling(pace.rate)}, ± {100 * pace.rate_sd:.2f} % among frags"
        ),
        rate_from=f"from {measured}" if pace.measured else stated,
        survival=f"{100 * pace.survival:.0f} of 100 live until then",
    )


def weeks(days: float) -> str:
    """Say days in weeks, whole ones, with a half below six."""
    found = days / 7
    return f"{round(found * 2) / 2:g}" if found < 6 else f"{rounded(found)}"


def doubling(rate: float) -> str:
    """Say in how many days an area doubles at a rate a day, nothing where it never does."""
    return f", doubled in {math.log(2) / rate:.0f} days" if rate > 1e-4 else ""


@dataclass(frozen=True, slots=True)
class StepWords:
    """Growth between two sizes as a row of a table; a dash where it is not known."""

    days: int
    extension: str
    extension_year: str
    area: str
    percent: str
    rate: str
    flags: Sequence[str]


def say_step(step: Step) -> StepWords:
    """Put growth into numbers with their standard errors, in the unit of each column."""
    return StepWords(
        days=step.days,
        extension=with_error(step.mm_day, 3),
        extension_year=with_error(step.cm_year, 1),
        area=with_error(step.cm2_month, 2),
        percent=with_error(step.percent, 0),
        rate=with_error(step.rate, 2),
        flags=step.flags,
    )


def with_error(known: Known | None, digits: int) -> str:
    """Write a number with its standard error: *1.54 ± 0.10*."""
    if known is None:
        return "–"
    value = f"{known.value:.{digits}f}".replace("-", "−")
    return f"{value} ± {known.sigma:.{digits}f}"
