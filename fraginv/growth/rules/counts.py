"""How many pieces will be ready by a day, those that die before left out."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.growth.rules.forecast import Growing, Outlook, outlook_of
from fraginv.growth.rules.normal import STANDARD, TENTH
from fraginv.growth.rules.paces import Pace
from fraginv.growth.rules.priors import WITHIN_SD

# Strips of equal weight into which what a cutting's pieces share is cut.
STRIPS: Final = tuple(STANDARD.inv_cdf((place + 0.5) / 9) for place in range(9))


@dataclass(frozen=True, slots=True)
class Standing:
    """Pieces of one cutting that grow alike; they are early or late together."""

    growing: Growing
    pieces: int


@dataclass(frozen=True, slots=True)
class Count:
    """How many pieces are expected on a day, and between which numbers with 80 %."""

    day: date
    expected: float
    least: int
    most: int

    @property
    def about(self) -> int:
        """Return the expected pieces as a whole number, halves up."""
        return math.floor(self.expected + 0.5)


def count_by(
    standing: Iterable[Standing], *, pace: Pace, today: date, days: Sequence[date]
) -> list[Count]:
    """Return how many pieces will be ready, and alive, by each of some days."""
    told = [
        (one.pieces, *found)
        for one in standing
        if one.pieces and (found := outlook_of(one.growing, pace=pace)) is not None
    ]
    counts = []
    for day in days:
        alive = math.exp(-pace.hazard * max((day - today).days, 0))
        moments = [
            moments_of(outlook, pieces=pieces, ages=ages_on(start, today, day), alive=alive)
            for pieces, start, outlook, _ in told
        ]
        mean, variance = (sum(part) for part in zip(*moments, strict=True)) if moments else (0, 0)
        counts.append(count_from(day, mean, variance, most=sum(pieces for pieces, *_ in told)))
    return counts


def ages_on(start: date, today: date, day: date) -> tuple[int, int]:
    """Return how old something is today, and on a day."""
    return (today - start).days, (day - start).days


def moments_of(
    outlook: Outlook, *, pieces: int, ages: tuple[int, int], alive: float
) -> tuple[float, float]:
    """Return mean and variance of the pieces of one cutting that are ready by an age, and live.

    What they share moves them together; each is ready for itself about that.
    """
    own = min(WITHIN_SD, 0.7 * outlook.sd)
    shared = math.sqrt(outlook.sd**2 - own**2)
    age, then = ages
    # Of what is not ready today the late cuttings are more: their strips weigh more.
    strips = [Outlook(outlook.mean + shared * z, own) for z in STRIPS]
    weights = [1 - strip.share_by(age, age=1) for strip in strips]
    total = sum(weights)
    if total <= 1e-9:
        share = outlook.share_by(then, age=age) * alive
        return pieces * share, pieces * share * (1 - share)
    shares = [strip.share_by(then, age=age) * alive for strip in strips]
    mean = sum(w * share for w, share in zip(weights, shares, strict=True)) / total
    apart = sum(w * (share - mean) ** 2 for w, share in zip(weights, shares, strict=True)) / total
    inside = sum(w * share * (1 - share) for w, share in zip(weights, shares, strict=True)) / total
    return pieces * mean, pieces * inside + pieces * pieces * apart


def count_from(day: date, mean: float, variance: float, *, most: int) -> Count:
    """Return a count with whole numbers around it, never below none or above all."""
    wide = TENTH * math.sqrt(max(variance, 0.0))
    return Count(
        day=day,
        expected=mean,
        least=max(0, math.floor(mean - wide + 0.5)),
        most=min(most, max(0, math.ceil(mean + wide - 0.5))),
    )
