"""Estimates drawn together: what a variety told by itself, its group, and what was stated before.

Everything here is normal: an estimate is a mean with a precision, the inverse of its variance,
and two that are independent go together by adding precisions.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

# What an estimate needs so that it counts at all.
LEAST_PRECISION: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean and its precision; precision 0 is not to know anything."""

    mean: float = 0.0
    precision: float = 0.0

    @property
    def sd(self) -> float:
        """Return the standard deviation, infinite where nothing is known."""
        return 1 / math.sqrt(self.precision) if self.precision > 0 else math.inf

    def blurred(self, sd: float) -> "Estimate":
        """Return it as an estimate of something that differs from it by a standard deviation."""
        if self.precision <= LEAST_PRECISION:
            return Estimate()
        return Estimate(self.mean, 1 / (1 / self.precision + sd * sd))


def estimate(mean: float, sd: float) -> Estimate:
    """Return an estimate from a mean and a standard deviation above 0."""
    return Estimate(mean, 1 / (sd * sd))


def together(*told: Estimate) -> Estimate:
    """Return what independent estimates of the same say together."""
    precision = sum(one.precision for one in told)
    if precision <= LEAST_PRECISION:
        return Estimate()
    return Estimate(sum(one.mean * one.precision for one in told) / precision, precision)


def drawn_together(
    own: Mapping[int, Estimate], *, before: Estimate, spread: float
) -> dict[int, Estimate]:
    """Return for each member of a group what it is likely, the others being known.

    Members lie about the group's mean with a standard deviation ``spread``; ``before`` is what
    was stated of that mean. The group is seen through the others alone, so that nothing counts
    twice.
    Source: the normal hierarchical model with known variances; Gelman et al., *Bayesian Data
    Analysis*, 3rd ed., section 5.4 (from memory).
    """
    seen = {key: one.blurred(spread) for key, one in own.items()}
    all_of_them = together(before, *seen.values())
    found = {}
    for key, one in own.items():
        others = without(all_of_them, seen[key], floor=before)
        found[key] = together(one, others.blurred(spread))
    return found


def without(whole: Estimate, part: Estimate, *, floor: Estimate) -> Estimate:
    """Take one estimate out of what several said together, ``floor`` being the least left."""
    precision = whole.precision - part.precision
    if part.precision <= LEAST_PRECISION:
        return whole
    if precision <= floor.precision * (1 + 1e-9):
        return floor
    mean = (whole.mean * whole.precision - part.mean * part.precision) / precision
    return Estimate(mean, precision)


def spread_of(estimates: Sequence[Estimate]) -> tuple[float, int]:
    """Return the variance among the true values of estimates, and how many it rests on.

    Source: DerSimonian and Laird, Controlled Clinical Trials 7 (1986) 177-188: by moments,
    never below 0.
    """
    weights = [one.precision for one in estimates if one.precision > 0]
    if len(weights) < 2:
        return 0.0, 0
    middle = together(*estimates).mean
    apart = sum(one.precision * (one.mean - middle) ** 2 for one in estimates)
    total = sum(weights)
    scale = total - sum(weight * weight for weight in weights) / total
    return max(0.0, (apart - (len(weights) - 1)) / scale), len(weights) - 1


def mixed_variance(own: float, count: float, *, before_sd: float, worth: float) -> float:
    """Return a variance drawn towards one that was stated, worth so many observations."""
    return (own * count + before_sd * before_sd * worth) / (count + worth)
