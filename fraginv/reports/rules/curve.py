"""A survival curve as a picture: steps, their band, and how many are at risk under it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from fraginv.growth.rules.survival import Curve, Step

# The picture's own units: it is drawn at any width.
WIDTH: Final = 600
HEIGHT: Final = 340
LEFT: Final = 64
RIGHT: Final = 24
TOP: Final = 14
FOOT: Final = 250
DAYS_AT: Final = 282
RISK_AT: Final = 316
TICKS: Final = 5
SHARES: Final = (0, 25, 50, 75, 100)


@dataclass(frozen=True, slots=True)
class Tick:
    """An age on the foot, and how many pieces were at risk then."""

    x: float
    age: int
    at_risk: int


@dataclass(frozen=True, slots=True)
class Level:
    """A line across the picture, and the share in hundredths that it stands for."""

    y: float
    percent: int


@dataclass(frozen=True, slots=True)
class Picture:
    """The whole picture; ``band`` holds closed shapes, one for each step that has bounds."""

    line: str
    band: Sequence[str]
    ticks: Sequence[Tick]
    levels: Sequence[Level]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    foot: int = FOOT
    days_at: int = DAYS_AT
    risk_at: int = RISK_AT


def draw_curve(curve: Curve) -> Picture:
    """Lay out a curve from the first day to the last on which any piece was followed."""
    step = age_step(curve.last)
    longest = max(curve.last, 1)

    def x_of(age: int) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * age / longest, 1)

    path = [f"M{x_of(0):g} {y_of(1):g}"]
    for one in curve.steps:
        path.append(f"H{x_of(one.age):g}V{y_of(float(one.survival)):g}")
    path.append(f"H{x_of(longest):g}")
    ends = [*(one.age for one in curve.steps[1:]), longest]
    band = [
        band_of(one, start=x_of(one.age), end=x_of(end))
        for one, end in zip(curve.steps, ends, strict=False)
        if one.low is not None
    ]
    ages = range(0, curve.last + 1, step)
    return Picture(
        line="".join(path),
        band=band,
        ticks=[Tick(x_of(age), age, curve.alive_at(age)) for age in ages],
        levels=[Level(y_of(percent / 100), percent) for percent in SHARES],
    )


def y_of(share: float) -> float:
    """Return how far from the top a share lies."""
    return round(FOOT - share * (FOOT - TOP), 1)


def band_of(one: Step, *, start: float, end: float) -> str:
    """Return the rectangle between a step's bounds."""
    low, high = y_of(one.low or 0.0), y_of(one.high or 0.0)
    return f"M{start:g} {high:g}H{end:g}V{low:g}H{start:g}Z"


def age_step(last: int) -> int:
    """Return a round number of days (1, 2 or 5 and zeros) that reaches an age in few ticks."""
    size = 1
    while True:
        for digit in (1, 2, 5):
            if digit * size * TICKS >= last:
                return digit * size
        size *= 10
