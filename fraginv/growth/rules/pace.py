"""How many days lie between cutting and ready, as a house's own cuttings tell.

The logarithm of the days is taken as normal: a cutting lies about its variety's mean, a frag
about its cutting's. Frags of one cutting are graded together and are not independent, so the
cutting is the unit that counts. What grows still, died, was given or sold as a fresh cut was
not ready by its last day: it is censored there, not left out.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from fraginv.growth.rules.normal import log_tails, mills_of
from fraginv.growth.rules.priors import BETWEEN_SD, CUTTINGS_WORTH, FRAGS_WORTH, WITHIN_SD
from fraginv.growth.rules.shrinking import Estimate, mixed_variance, without

Numbers = NDArray[np.float64]
# A cutting: its row, 0 where it has none, and its day.
Cut = tuple[int, date]

# Means of cuttings are looked for on a grid of the logarithm of days, 2 to 5,000 of them.
GRID: Final = np.linspace(math.log(2), math.log(5000), 480)
ROUNDS: Final = 40
SETTLED: Final = 1e-4
# Spreads below these are finer than the grid.
LEAST_BETWEEN: Final = 0.05
LEAST_WITHIN: Final = 0.04


@dataclass(frozen=True, slots=True)
class Span:
    """Frags of one cutting with the same fate: when they were cut, ready, or ended unready.

    ``end_on`` is the day after which they are followed no further without being ready,
    None where they grow still.
    """

    cutting: Cut
    cut_on: date
    ready_on: date | None
    end_on: date | None
    frags: int


@dataclass(frozen=True, slots=True)
class Seen:
    """The same as known on a day: ready at an age in days, or not ready by that age."""

    cutting: Cut
    age: int
    is_ready: bool
    frags: int


def seen_on(spans: Iterable[Span], *, day: date) -> Iterator[Seen]:
    """Yield what was known at the end of a day: nothing that happened later."""
    for span in spans:
        if span.cut_on > day:
            continue
        is_ready = span.ready_on is not None and span.ready_on <= day
        last = span.ready_on if is_ready else min(span.end_on or day, day)
        age = max(((last or day) - span.cut_on).days, 1)
        yield Seen(span.cutting, age, is_ready, span.frags)


@dataclass(frozen=True, slots=True)
class Spread:
    """How far cuttings lie about their variety's mean, and frags about their cutting's."""

    between: float = BETWEEN_SD
    within: float = WITHIN_SD

    @property
    def of_a_frag(self) -> float:
        """Return how far a frag lies about its variety's mean."""
        return math.hypot(self.between, self.within)


@dataclass(frozen=True, slots=True)
class DaysTold:
    """What cuttings told of the logarithm of days to ready, without what was supposed before.

    ``own`` has precision 0 where they told nothing.
    """

    own: Estimate = Estimate()
    spread: Spread = Spread()
    cuttings: int = 0
    ready: int = 0


@dataclass(frozen=True, slots=True)
class Rows:
    """What was seen as arrays of one length, and how many cuttings it is of."""

    cutting: NDArray[np.intp]
    log_age: Numbers
    is_ready: NDArray[np.bool_]
    frags: Numbers
    cuttings: int


def rows_of(seen: Sequence[Seen]) -> Rows:
    """Return what was seen as arrays, cuttings by number."""
    place = {key: number for number, key in enumerate(dict.fromkeys(one.cutting for one in seen))}
    return Rows(
        cutting=np.array([place[one.cutting] for one in seen], dtype=np.intp),
        log_age=np.log(np.array([one.age for one in seen], dtype=np.float64)),
        is_ready=np.array([one.is_ready for one in seen], dtype=np.bool_),
        frags=np.array([one.frags for one in seen], dtype=np.float64),
        cuttings=len(place),
    )


def tell_days(seen: Sequence[Seen], *, before: Estimate) -> DaysTold:
    """Return what cuttings tell of the days to ready.

    Expectation and maximisation over each cutting's own mean, on a grid, and over what is
    censored; the spreads are drawn towards stated ones.
    Args: ``before`` is what is supposed of the mean of log days before any is counted; it
        steadies the search and is taken out of the answer again.
    Source: Dempster, Laird and Rubin, J. R. Stat. Soc. B 39 (1977) 1-38; what is missed by
        not seeing the cuttings' means: Louis, J. R. Stat. Soc. B 44 (1982) 226-233.
    """
    if not seen:
        return DaysTold()
    rows, mean, spread = rows_of(seen), before.mean, Spread()
    for _ in range(ROUNDS):
        weights = weights_of(rows, mean=mean, spread=spread)
        centres = weights @ GRID
        told = Estimate(float(centres.mean()), rows.cuttings / spread.between**2)
        new_mean = (told.mean * told.precision + before.mean * before.precision) / (
            told.precision + before.precision
        )
        new = new_spread(rows, weights, mean=new_mean, spread=spread)
        moved = abs(new_mean - mean) + abs(new.between - spread.between)
        mean, spread = new_mean, new
        if moved < SETTLED:
            break
    ready = int(rows.frags[rows.is_ready].sum())
    own = own_of(rows, mean=mean, spread=spread, before=before)
    return DaysTold(own, spread, rows.cuttings, ready)


def weights_of(rows: Rows, *, mean: float, spread: Spread) -> Numbers:
    """Return how likely each cutting's mean lies at each point of the grid, cuttings × grid."""
    away = (rows.log_age[:, None] - GRID) / spread.within
    each = np.where(rows.is_ready[:, None], -(away**2) / 2, log_tails(away))
    found = np.zeros((rows.cuttings, len(GRID)))
    np.add.at(found, rows.cutting, each * rows.frags[:, None])
    found -= ((GRID - mean) / spread.between) ** 2 / 2
    found = np.exp(found - found.max(axis=1, keepdims=True))
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def new_spread(rows: Rows, weights: Numbers, *, mean: float, spread: Spread) -> Spread:
    """Return the spreads that go with the cuttings' means, drawn towards the stated ones."""
    between = float((weights @ (GRID - mean) ** 2).mean())
    away = (rows.log_age[:, None] - GRID) / spread.within
    # Of what is censored at z the square's expectation is 1 + z λ(z).
    square = np.where(rows.is_ready[:, None], away**2, 1 + away * mills_of(away))
    each = (square * weights[rows.cutting]).sum(axis=1) * spread.within**2
    within = float((each * rows.frags).sum() / rows.frags.sum())
    return Spread(
        between=max(LEAST_BETWEEN, settled(between, rows.cuttings, BETWEEN_SD, CUTTINGS_WORTH)),
        within=max(LEAST_WITHIN, settled(within, rows.frags.sum(), WITHIN_SD, FRAGS_WORTH)),
    )


def settled(variance: float, count: float, before_sd: float, worth: float) -> float:
    """Return a standard deviation, drawn towards a stated one."""
    return math.sqrt(mixed_variance(variance, count, before_sd=before_sd, worth=worth))


def own_of(rows: Rows, *, mean: float, spread: Spread, before: Estimate) -> Estimate:
    """Return the mean that cuttings alone tell, its precision less what is not seen of them."""
    weights = weights_of(rows, mean=mean, spread=spread)
    centres = weights @ GRID
    hidden = (weights * (GRID - centres[:, None]) ** 2).sum(axis=1)
    square = spread.between**2
    precision = float(((square - hidden) / square**2).clip(min=0).sum())
    whole = Estimate(mean, precision + before.precision)
    return without(whole, before, floor=Estimate()) if precision > 1e-6 else Estimate()
