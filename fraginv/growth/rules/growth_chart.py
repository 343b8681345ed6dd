"""Area and diameter over time as a picture: points with their errors, joined by lines."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.growth.rules.growth import Known, Size, times

# The picture's own units: it is drawn at any width.
WIDTH: Final = 600
LEFT: Final = 78
RIGHT: Final = 24
# Each of the two pictures under the other is so high, and its words stand above it.
PANEL: Final = 190
TITLE: Final = 48
GAP: Final = 22
FOOT_ROOM: Final = 62
TICKS: Final = 5
LEVELS: Final = 4
# Bars reach so many standard deviations either way: 95 in 100.
BARS: Final = 1.96


@dataclass(frozen=True, slots=True)
class Mark:
    """One size: its point, and the bar of its error from above to below."""

    x: float
    y: float
    above: float
    below: float


@dataclass(frozen=True, slots=True)
class Level:
    """A line across and the number that it stands for."""

    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Panel:
    """One of the two pictures."""

    title: str
    title_at: float
    foot: float
    marks: Sequence[Mark]
    line: str
    levels: Sequence[Level]


@dataclass(frozen=True, slots=True)
class Tick:
    """A day on the foot of the pictures, counted from the first."""

    x: float
    day: int


@dataclass(frozen=True, slots=True)
class Picture:
    """Both pictures; ``ticks`` stand under the last one."""

    panels: Sequence[Panel]
    ticks: Sequence[Tick]
    ticks_at: float
    name_at: float
    height: float
    width: int = WIDTH
    left: int = LEFT
    right: int = WIDTH - RIGHT
    middle: int = (LEFT + WIDTH - RIGHT) // 2


def draw_growth(sizes: Sequence[Size], *, since: date) -> Picture | None:
    """Lay out areas in cm² and diameters in mm over the days since a day; None for no size."""
    areas = [(one.day, times(one.area, 0.01)) for one in sizes if one.area is not None]
    widths = [(one.day, one.diameter) for one in sizes if one.diameter is not None]
    if not areas and not widths:
        return None
    longest = max((one.day - since).days for one in sizes) or 1
    panels, top = [], 0.0
    for title, told in (("Projected area, cm²", areas), ("Largest diameter, mm", widths)):
        if told:
            panels.append(panel_of(title, told, since=since, longest=longest, top=top))
            top = panels[-1].foot + GAP
    foot = panels[-1].foot
    step = nice_step(longest / TICKS)
    days = [round(step * place) for place in range(int(longest / step) + 1)]
    ticks = [Tick(x_of(day, longest), day) for day in dict.fromkeys(days)]
    return Picture(panels, ticks, foot + 24, foot + 52, foot + FOOT_ROOM)


def x_of(day: int, longest: int) -> float:
    """Return how far to the right a day stands."""
    return round(LEFT + (WIDTH - LEFT - RIGHT) * day / longest, 1)


def panel_of(
    title: str, told: Sequence[tuple[date, Known]], *, since: date, longest: int, top: float
) -> Panel:
    """Lay out one picture, its foot at 0."""
    most = max(known.value + BARS * known.sigma for _, known in told)
    step = nice_step(most / LEVELS)
    highest = step * math.ceil(most / step)
    foot = top + TITLE + PANEL

    def y_of(value: float) -> float:
        return round(foot - PANEL * min(max(value / highest, 0.0), 1.0), 1)

    marks = [
        Mark(
            x_of((day - since).days, longest),
            y_of(known.value),
            y_of(known.value + BARS * known.sigma),
            y_of(known.value - BARS * known.sigma),
        )
        for day, known in told
    ]
    path = "L".join(f"{mark.x:g} {mark.y:g}" for mark in marks)
    count = round(highest / step)
    return Panel(
        title=title,
        title_at=top + 24,
        foot=foot,
        marks=marks,
        line=f"M{path}",
        levels=[
            Level(y_of(step * place), f"{round(step * place, 3):g}") for place in range(count + 1)
        ],
    )


def nice_step(least: float) -> float:
    """Return the next 1, 2 or 5 with zeros that is no smaller."""
    size = 10.0 ** math.floor(math.log10(max(least, 1e-6)))
    return next(digit * size for digit in (1, 2, 5, 10) if digit * size >= least * (1 - 1e-9))
