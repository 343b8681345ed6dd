"""Survival of frags by age: Kaplan-Meier, with confidence bands.

Source: Kaplan and Meier, J. Am. Stat. Assoc. 53 (1958) 457-481; Greenwood's variance (1926);
bands on the logarithm and on the logarithm of minus the logarithm as in Kalbfleisch and
Prentice, *The Statistical Analysis of Failure Time Data*, 1980 (from memory).
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from statistics import NormalDist
from typing import Final

HALF: Final = Fraction(1, 2)
CONFIDENCE: Final = 0.95


class Band(StrEnum):
    """On which scale a confidence band is worked out before it is turned back."""

    LOG_LOG = "log-log"
    LOG = "log"


@dataclass(frozen=True, slots=True)
class Ages:
    """Pieces by their age in days, at which they were lost, went otherwise, or came in.

    ``left`` holds what lives still, was sold, given or kept: it is counted until then and no
    further. ``joined`` came in at a later age, taken back or found again, and ``moved`` went
    over to another code: both count for what is at risk on their day.
    """

    begun: int
    lost: Mapping[int, int]
    left: Mapping[int, int]
    joined: Mapping[int, int] = field(default_factory=dict)
    moved: Mapping[int, int] = field(default_factory=dict)

    def in_order(self) -> "Ages":
        """Return the same lives, none lost before it was there.

        A loss that was written down for an earlier day than that on which its pieces came
        counts as soon as they are there.
        """
        lost: dict[int, int] = {}
        present, late = self.begun, 0
        for age in sorted({*self.lost, *self.left, *self.joined, *self.moved}):
            present += self.joined.get(age, 0) - self.moved.get(age, 0)
            due = self.lost.get(age, 0) + late
            lost[age] = max(min(due, present), 0)
            late = due - lost[age]
            present -= lost[age] + self.left.get(age, 0)
        return replace(self, lost={age: pieces for age, pieces in lost.items() if pieces})

    def at_risk(self) -> dict[int, int]:
        """Return how many pieces were there at each age at which anything happened."""
        found, present = {}, self.begun
        for age in sorted({*self.lost, *self.left, *self.joined, *self.moved}):
            present += self.joined.get(age, 0) - self.moved.get(age, 0)
            found[age] = present
            present -= self.lost.get(age, 0) + self.left.get(age, 0)
        return found


@dataclass(frozen=True, slots=True)
class Step:
    """An age at which pieces died.

    Attributes: ``survival`` is the exact share alive just after it; ``spread`` is
    Greenwood's sum, the variance of its logarithm, None once nothing is left; ``low`` and
    ``high`` bound it, None where the scale has no bounds: at a share of 0 or 1.
    """

    age: int
    at_risk: int
    lost: int
    survival: Fraction
    spread: Fraction | None
    low: float | None
    high: float | None

    @property
    def share(self) -> Decimal:
        """Return the share alive, to be shown."""
        return Decimal(self.survival.numerator) / Decimal(self.survival.denominator)

    @property
    def low_share(self) -> Decimal | None:
        """Return the lower bound, to be shown."""
        return None if self.low is None else Decimal(self.low)

    @property
    def high_share(self) -> Decimal | None:
        """Return the upper bound, to be shown."""
        return None if self.high is None else Decimal(self.high)

    @property
    def error(self) -> float | None:
        """Return the standard error of the share alive."""
        return None if self.spread is None else float(self.survival) * math.sqrt(self.spread)


@dataclass(frozen=True, slots=True)
class Curve:
    """All steps of a curve; ``last`` is the age up to which any piece was followed."""

    steps: Sequence[Step]
    begun: int
    last: int
    risk: Mapping[int, int]

    @property
    def median(self) -> int | None:
        """Return the first age at which half or fewer are alive, or None if never so few.

        The share is an exact fraction, so that one of exactly a half is met.
        """
        return next((step.age for step in self.steps if step.survival <= HALF), None)

    @property
    def lost(self) -> int:
        """Return how many pieces died."""
        return sum(step.lost for step in self.steps)

    def at(self, age: int) -> Step | None:
        """Return the step that holds at an age, or None before the first death."""
        return next((step for step in reversed(self.steps) if step.age <= age), None)

    def alive_at(self, age: int) -> int:
        """Return how many pieces are at risk at an age, those that end on that day with them."""
        following = next((known for known in sorted(self.risk) if known >= age), None)
        return 0 if following is None else self.risk[following]


def kaplan_meier(ages: Ages, *, band: Band = Band.LOG_LOG) -> Curve:
    """Return the share alive by age, with a 95 % band.

    Pieces that are lost at an age count before those that leave otherwise at the same age.
    Raises: ValueError where more were lost than were there.
    """
    steps: list[Step] = []
    survival, spread = Fraction(1), Fraction(0)
    risk = ages.at_risk()
    for age, at_risk in risk.items():
        lost = ages.lost.get(age, 0)
        if not lost:
            continue
        if lost > at_risk:
            raise ValueError(f"{lost} lost at {age} days of {at_risk} that were there")
        survival *= Fraction(at_risk - lost, at_risk)
        known = None if survival == 0 else spread + Fraction(lost, at_risk * (at_risk - lost))
        spread = known or spread
        low, high = bounds(survival, known, band=band)
        steps.append(Step(age, at_risk, lost, survival, known, low, high))
    return Curve(steps, ages.begun, max(risk, default=0), risk)


def bounds(
    survival: Fraction, spread: Fraction | None, *, band: Band
) -> tuple[float | None, float | None]:
    """Return the ends of a band around a share; none at 0 and 1, which have no such scale."""
    if spread is None or survival in (0, 1):
        return None, None
    z = NormalDist().inv_cdf((1 + CONFIDENCE) / 2)
    share, deviation = float(survival), math.sqrt(spread)
    if band is Band.LOG:
        return share * math.exp(-z * deviation), min(share * math.exp(z * deviation), 1.0)
    width = z * deviation / math.log(share)
    # The logarithm of a share is below 0, so the greater exponent gives the lower end.
    return share ** math.exp(-width), share ** math.exp(width)


def ages_of(lives: Iterable[tuple[int, bool, int]]) -> Ages:
    """Put single lives together: age in days, whether it ended in a loss, how many pieces."""
    lost: dict[int, int] = defaultdict(int)
    left: dict[int, int] = defaultdict(int)
    for age, died, pieces in lives:
        (lost if died else left)[age] += pieces
    return Ages(sum(lost.values()) + sum(left.values()), lost, left)
