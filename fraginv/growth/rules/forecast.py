"""The day on which a frag will be ready: an interval of 80 % and its middle.

By size where it is measured, by the usual days from cutting where it is not, by both where
both are known. What grows still today was not ready before: whatever lay in the past is cut
off, and the rest is what remains to be expected.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from fraginv.growth.rules.growth import Size
from fraginv.growth.rules.normal import TENTH, beyond, log_tail
from fraginv.growth.rules.paces import Pace
from fraginv.growth.rules.priors import log_area_of_width
from fraginv.growth.rules.rates import Line, line_through, points_of
from fraginv.growth.rules.shrinking import Estimate, estimate, together

MOST_DAYS: Final = 3_650
# No forecast is exacter than this, as a standard deviation of log days: the model is one.
LEAST_SD: Final = 0.05
# Beyond what a rate that was just measured tells, the area of a frag to come varies by this.
CREEP_A_DAY: Final = 0.002
# Of so many frags of its own a variety's usual days are its own; with fewer the group leads.
FEW: Final = 5


class Basis(StrEnum):
    """What a forecast rests on."""

    USUAL = "usual"
    SIZE = "size"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class Growing:
    """A frag or lot that is not ready yet.

    ``started_on`` is when it was cut, or cut again, None where that is not known. The width
    at which its variety is sold is ``ready_mm``, where somebody said so.
    """

    started_on: date | None
    sizes: Sequence[Size] = ()
    ready_mm: float | None = None

    @property
    def own_sizes(self) -> Sequence[Size]:
        """Return the sizes of what grows now: those from before it was cut again are not."""
        if self.started_on is None:
            return self.sizes
        return [size for size in self.sizes if size.day >= self.started_on]


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a frag will be ready: between two days with 80 %, as likely before as after a third.

    Attributes: ``measured`` how often it was; ``own`` how many frags of its variety stand
        behind the usual days.
    """

    first: date
    middle: date
    last: date
    basis: Basis
    measured: int = 0
    own: int = 0


@dataclass(frozen=True, slots=True)
class Outlook:
    """Log days from a start to being ready, as a normal distribution."""

    mean: float
    sd: float

    def days(self, share: float, *, age: int) -> float:
        """Return the days by which so great a share of what is not ready at an age is ready."""
        z = (math.log(max(age, 1)) - self.mean) / self.sd
        found = self.mean + self.sd * beyond(z, share)
        return min(math.exp(min(found, math.log(MOST_DAYS * 2))), age + MOST_DAYS)

    def share_by(self, days: float, *, age: int) -> float:
        """Return the share of what is not ready at an age that is ready by a later one."""
        if days <= age:
            return 0.0
        now, then = ((math.log(max(at, 1)) - self.mean) / self.sd for at in (age, days))
        return -math.expm1(log_tail(then) - log_tail(now))


def forecast(growing: Growing, *, pace: Pace, today: date) -> Forecast | None:
    """Return when a frag that is not ready today will be, None where nothing is known of it."""
    found = outlook_of(growing, pace=pace)
    if found is None:
        return None
    start, outlook, basis = found
    age = (today - start).days
    first, middle, last = (
        start + timedelta(days=max(age, round(outlook.days(share, age=age))))
        for share in (0.1, 0.5, 0.9)
    )
    measured = len(points_of(growing.own_sizes, since=start)) if basis is not Basis.USUAL else 0
    return Forecast(first, middle, last, basis, measured, pace.ready)


def outlook_of(growing: Growing, *, pace: Pace) -> tuple[date, Outlook, Basis] | None:
    """Return from when days count, how many there are, and what that rests on."""
    by_size = size_outlook(growing, pace=pace)
    if growing.started_on is None:
        return None if by_size is None else (growing.sizes[0].day, by_size, Basis.SIZE)
    usual = estimate(pace.log_days, pace.log_days_sd)
    if by_size is None:
        return growing.started_on, outlook_from(usual), Basis.USUAL
    both = together(usual, estimate(by_size.mean, by_size.sd))
    return growing.started_on, outlook_from(both), Basis.BOTH


def outlook_from(told: Estimate) -> Outlook:
    """Return an estimate as an outlook that claims no more than it can."""
    return Outlook(told.mean, max(told.sd, LEAST_SD))


def size_outlook(growing: Growing, *, pace: Pace) -> Outlook | None:
    """Return the log days to ready as the sizes of a frag tell, None where it has no area.

    The days on which its area reaches what is called ready with a tenth, a half and nine
    tenths give the middle and the spread.
    """
    if not growing.own_sizes:
        return None
    start = growing.started_on or growing.own_sizes[0].day
    points = points_of(growing.own_sizes, since=start)
    if not points:
        return None
    line = line_through(points, before=estimate(pace.rate, pace.rate_sd))
    target, spread = target_of(growing, pace=pace)
    early, middle, late = (
        math.log(day_reached(line, target=target, spread=spread, z=z)) for z in (-TENTH, 0, TENTH)
    )
    return Outlook(middle, max((late - early) / (2 * TENTH), LEAST_SD))


def target_of(growing: Growing, *, pace: Pace) -> tuple[float, float]:
    """Return the log area at which a frag is called ready, and its standard deviation.

    From the width at which its variety is sold, by how much of the circle around its own
    largest diameter it fills; else the size at which its variety's frags were graded.
    """
    if growing.ready_mm is None:
        return pace.ready_log_area, pace.ready_log_area_sd
    last = growing.own_sizes[-1]
    if last.area is None or last.diameter is None or last.diameter.value <= 0:
        return log_area_of_width(growing.ready_mm), pace.ready_log_area_sd / 2
    fills = last.area.value / (math.pi / 4 * last.diameter.value**2)
    return log_area_of_width(growing.ready_mm, fills=min(fills, 1.0)), pace.ready_log_area_sd / 2


def day_reached(line: Line, *, target: float, spread: float, z: float) -> float:
    """Return the day after the start by which an area is reached so surely, 1 at the least.

    By halving: how sure it is rises with the days, as long as the frag grows at all.
    """
    low, high = 1.0, float(line.day + MOST_DAYS)

    def sure(day: float) -> float:
        creep = CREEP_A_DAY * max(day - line.day, 0)
        sigma = math.sqrt(line.sigma_at(day) ** 2 + spread**2 + creep**2)
        return (line.at(day) - target) / sigma

    if sure(high) < z:
        return high
    while high - low > 0.25:
        middle = (low + high) / 2
        low, high = (low, middle) if sure(middle) >= z else (middle, high)
    return high
