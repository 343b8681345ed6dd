"""How fast frags grow: the logarithm of projected area over days, a line through each frag.

A frag's rate lies about its variety's, a variety's about its group's (random effects). Growth
is neither quite even nor quite exponential; what a line leaves over counts as a scatter of its
own beside the measuring error.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

import numpy as np

from fraginv.growth.rules.growth import Size
from fraginv.growth.rules.pace import Cut
from fraginv.growth.rules.priors import (
    RATE_FRAG_SD,
    RATE_FRAGS_WORTH,
    READY_SD,
    READY_WORTH,
)
from fraginv.growth.rules.shrinking import (
    Estimate,
    estimate,
    mixed_variance,
    spread_of,
    together,
)

# Scatter of the logarithm of area about a line, beside the measuring error; of a photograph
# without a stated error. Stated, no source.
SCATTER: Final = 0.05
UNSTATED: Final = 0.1
# A measurement within so many days of the grading tells the size at which it was ready.
NEAR_GRADING: Final = 21


@dataclass(frozen=True, slots=True)
class Point:
    """The logarithm of a projected area in mm² on a day, counted from any day, and its error."""

    day: float
    log_area: float
    sigma: float


@dataclass(frozen=True, slots=True)
class Grown:
    """A frag's sizes, in order of their days, and when it was cut and became ready."""

    frag: int
    cutting: Cut
    cut_on: date
    ready_on: date | None
    sizes: Sequence[Size]

    def until(self, day: date) -> "Grown":
        """Return the same as it was known at the end of a day."""
        ready = self.ready_on if self.ready_on is not None and self.ready_on <= day else None
        seen = [one for one in self.sizes if one.day <= day]
        return Grown(self.frag, self.cutting, self.cut_on, ready, seen)


def points_of(sizes: Sequence[Size], *, since: date) -> list[Point]:
    """Return the areas among sizes as points in days after a day."""
    return [
        Point(
            (size.day - since).days,
            math.log(size.area.value),
            math.hypot(SCATTER, (size.area.sigma / size.area.value) or UNSTATED),
        )
        for size in sizes
        if size.area is not None and size.area.value > 0
    ]


@dataclass(frozen=True, slots=True)
class Line:
    """A line through log areas: its height on a day, its rate a day, and their covariances."""

    day: float
    height: float
    rate: float
    var_height: float
    cov: float
    var_rate: float

    def at(self, day: float) -> float:
        """Return the height on another day."""
        return self.height + self.rate * (day - self.day)

    def sigma_at(self, day: float) -> float:
        """Return the standard deviation of the height on another day."""
        far = day - self.day
        return math.sqrt(self.var_height + 2 * far * self.cov + far * far * self.var_rate)


def line_through(points: Sequence[Point], *, before: Estimate) -> Line:
    """Return the line through at least one point, its rate drawn towards what was supposed.

    Source: weighted least squares with a normal prior on the slope; Gelman et al., *Bayesian
        Data Analysis*, 3rd ed., section 14.8 (from memory).
    Raises: ValueError without a point, or with one point and nothing supposed.
    """
    if not points or (len(points) == 1 and before.precision <= 0):
        raise ValueError("a line needs two points, or one and a rate that is supposed")
    last = max(point.day for point in points)
    weights = [point.sigma**-2 for point in points]
    far = [point.day - last for point in points]
    heights = [point.log_area for point in points]
    one = sum(weights)
    across = sum(w * x for w, x in zip(weights, far, strict=True))
    square = sum(w * x * x for w, x in zip(weights, far, strict=True)) + before.precision
    up = sum(w * y for w, y in zip(weights, heights, strict=True))
    both = sum(w * x * y for w, x, y in zip(weights, far, heights, strict=True))
    both += before.precision * before.mean
    whole = one * square - across * across
    if whole <= 0:
        raise ValueError("a line needs two points of different days")
    return Line(
        day=last,
        height=(square * up - across * both) / whole,
        rate=(one * both - across * up) / whole,
        var_height=square / whole,
        cov=-across / whole,
        var_rate=one / whole,
    )


def own_rate(sizes: Sequence[Size], *, since: date) -> Estimate:
    """Return the rate that a frag's own sizes tell, of precision 0 where they tell none."""
    points = points_of(sizes, since=since)
    if len({point.day for point in points}) < 2:
        return Estimate()
    line = line_through(points, before=Estimate())
    return Estimate(line.rate, 1 / line.var_rate)


@dataclass(frozen=True, slots=True)
class SizesTold:
    """What measured frags told of a variety: their rate, its spread, and their size when ready.

    Attributes: ``rate`` alone, without what was supposed; ``ready`` the mean logarithm of
        area at grading; ``ready_sd`` its spread among frags.
    """

    rate: Estimate = Estimate()
    spread: float = RATE_FRAG_SD
    frags: int = 0
    ready: Estimate = field(default_factory=Estimate)
    ready_sd: float = READY_SD
    graded: int = 0


def tell_sizes(grown: Sequence[Grown]) -> SizesTold:
    """Return what measured frags of a variety tell."""
    rates = [own_rate(one.sizes, since=one.cut_on) for one in grown]
    known = [one for one in rates if one.precision > 0]
    moments, count = spread_of(known)
    spread = math.sqrt(
        mixed_variance(moments, count, before_sd=RATE_FRAG_SD, worth=RATE_FRAGS_WORTH)
    )
    graded = [size for one in grown for size in [size_when_ready(one)] if size is not None]
    ready_sd = READY_SD
    if graded:
        own = float(np.var(graded))
        ready_sd = math.sqrt(
            mixed_variance(own, len(graded) - 1, before_sd=READY_SD, worth=READY_WORTH)
        )
    return SizesTold(
        rate=together(*(one.blurred(spread) for one in known)),
        spread=spread,
        frags=len(known),
        ready=estimate(float(np.mean(graded)), ready_sd / math.sqrt(len(graded)))
        if graded
        else Estimate(),
        ready_sd=ready_sd,
        graded=len(graded),
    )


def size_when_ready(grown: Grown) -> float | None:
    """Return the logarithm of a frag's area on the day it was graded ready, None if not known.

    Where it was measured near that day; from a little away the line through its sizes leads.
    """
    if grown.ready_on is None:
        return None
    points = points_of(grown.sizes, since=grown.ready_on)
    near = [point for point in points if abs(point.day) <= NEAR_GRADING]
    if not near:
        return None
    nearest = min(near, key=lambda point: abs(point.day))
    rate = own_rate(grown.sizes, since=grown.ready_on)
    return nearest.log_area - (rate.mean if rate.precision > 0 else 0.0) * nearest.day
