"""One kind of measurement drawn over days, over the losses of the same days."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median_low
from typing import Final

# The picture's own units: it is drawn at any width.
WIDTH: Final = 600
LINE_TOP: Final = 8
LINE_FOOT: Final = 92
BARS_TOP: Final = 104
FOOT: Final = 140
# Nothing measured for longer than this, and than twice the usual time, is a gap in the line.
GAP: Final = timedelta(days=7)
THINNEST: Final = 1.5


@dataclass(frozen=True, slots=True)
class DayValue:
    """What was measured on one day: the mean, the lowest and the highest."""

    day: date
    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Dot:
    """A day's mean as a point."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Bar:
    """The losses of a day as a rectangle on the foot."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """A picture: lines between gaps, a dot a day, how far a day ranged, bars, marks."""

    lines: Sequence[str]
    dots: Sequence[Dot]
    ranges: Sequence[tuple[float, float, float]]
    bars: Sequence[Bar]
    marks: Sequence[float]
    width: int = WIDTH
    height: int = FOOT
    foot: int = FOOT
    line_foot: int = LINE_FOOT


def draw_lines(
    values: Sequence[DayValue],
    *,
    losses: Mapping[date, int],
    marked: Sequence[date],
    first: date,
    last: date,
) -> Drawn:
    """Draw the values of one kind by day, with gaps where nothing was measured for long.

    Args: ``losses`` pieces by day; ``marked`` the days on which something was done to the
        water, or went wrong with it.
    """
    days = max((last - first).days + 1, 1)
    slot = WIDTH / days
    low = min((one.low for one in values), default=0.0)
    high = max((one.high for one in values), default=1.0)

    def x_of(day: date) -> float:
        return round(((day - first).days + 0.5) * slot, 1)

    def y_of(value: float) -> float:
        share = (value - low) / (high - low) if high > low else 0.5
        return round(LINE_FOOT - share * (LINE_FOOT - LINE_TOP), 1)

    dots = [Dot(x_of(one.day), y_of(one.mean)) for one in values]
    return Drawn(
        lines=[path_of(run) for run in runs_of(values, dots) if len(run) > 1],
        dots=dots,
        ranges=[
            (x_of(one.day), y_of(one.high), y_of(one.low)) for one in values if one.high > one.low
        ],
        bars=bars_of(losses, first=first, slot=slot),
        marks=[x_of(day) for day in marked],
    )


def runs_of(values: Sequence[DayValue], dots: Sequence[Dot]) -> list[list[Dot]]:
    """Part the dots where there is a gap between their days."""
    spans = [after.day - one.day for one, after in zip(values, values[1:], strict=False)]
    gap = max(GAP, 2 * median_low(spans)) if spans else GAP
    runs: list[list[Dot]] = []
    before: date | None = None
    for value, dot in zip(values, dots, strict=True):
        if before is None or value.day - before > gap:
            runs.append([])
        runs[-1].append(dot)
        before = value.day
    return runs


def path_of(run: Sequence[Dot]) -> str:
    """Return a line through dots, as SVG writes a path."""
    return "M" + "L".join(f"{dot.x:g} {dot.y:g}" for dot in run)


def bars_of(losses: Mapping[date, int], *, first: date, slot: float) -> list[Bar]:
    """Return a bar for each day on which pieces were lost, the largest as high as there is room."""
    most = max(losses.values(), default=0)
    width = max(slot * 0.8, THINNEST)
    found = []
    for day, pieces in sorted(losses.items()):
        height = round((FOOT - BARS_TOP) * pieces / most, 1) if most else 0
        middle = ((day - first).days + 0.5) * slot
        found.append(
            Bar(round(middle - width / 2, 1), round(FOOT - height, 1), round(width, 1), height)
        )
    return found
