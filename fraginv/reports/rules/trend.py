"""The last months as a small picture of bars: what the display cost, what the frags brought."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from fraginv.reports.rules.figures import share_of

# The picture's own units: it is drawn at any size.
WIDTH: Final = 1200
HEIGHT: Final = 400
LEFT: Final = 150
TOP: Final = 24
BOTTOM: Final = 60
MOST_LINES: Final = 4


@dataclass(frozen=True, slots=True)
class TrendMonth:
    """A month's net income and running costs, in minor units."""

    month: int
    income: int
    running: int

    @property
    def share(self) -> Decimal | None:
        """Return the share carried, or None without costs."""
        return share_of(self.income, whole=self.running)


@dataclass(frozen=True, slots=True)
class Bar:
    """A rectangle, in the picture's units from its top left corner."""

    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Slot:
    """One month's place in the picture: its two bars, and where its name stands."""

    month: int
    middle: int
    running: Bar
    income: Bar


@dataclass(frozen=True, slots=True)
class Level:
    """A line across the picture, and the amount it stands for in minor units."""

    y: int
    amount: int


@dataclass(frozen=True, slots=True)
class Chart:
    """The whole picture; ``foot`` is the line that the bars stand on."""

    slots: tuple[Slot, ...]
    levels: tuple[Level, ...]
    height: int
    foot: int
    width: int = WIDTH
    left: int = LEFT


@dataclass(frozen=True, slots=True)
class Scale:
    """How amounts become heights: the foot's distance from the top, and the highest amount."""

    foot: int
    highest: int

    def top_of(self, amount: int) -> int:
        """Return how far from the top of the picture an amount lies."""
        return self.foot - round((self.foot - TOP) * amount / self.highest)

    def bar(self, amount: int, *, start: float, width: float) -> Bar:
        """Return the bar of an amount, standing on the foot; none goes below it."""
        top = self.top_of(max(amount, 0))
        return Bar(x=round(start), y=top, width=round(width), height=self.foot - top)


def draw_chart(months: Sequence[TrendMonth], *, height: int = HEIGHT) -> Chart:
    """Lay out one slot a month; income below zero has no bar, the table beside tells it."""
    most = max((max(one.income, one.running) for one in months), default=0)
    step = level_step(most)
    lines = -(-most // step) if most > 0 else 0
    scale = Scale(foot=height - BOTTOM, highest=max(lines, 1) * step)
    slot = (WIDTH - LEFT) / max(len(months), 1)
    return Chart(
        slots=tuple(
            month_slot(one, start=LEFT + place * slot, width=slot, scale=scale)
            for place, one in enumerate(months)
        ),
        levels=tuple(
            Level(y=scale.top_of(line * step), amount=line * step) for line in range(lines + 1)
        ),
        height=height,
        foot=scale.foot,
    )


def month_slot(one: TrendMonth, *, start: float, width: float, scale: Scale) -> Slot:
    """Return a month's bars: costs as a broad one, income as a slim one before it."""
    return Slot(
        month=one.month,
        middle=round(start + width / 2),
        running=scale.bar(one.running, start=start + width * 0.14, width=width * 0.72),
        income=scale.bar(one.income, start=start + width * 0.3, width=width * 0.4),
    )


def level_step(highest: int) -> int:
    """Return a round step (1, 2 or 5 and zeros) that reaches an amount in few lines."""
    size = 1
    while True:
        for digit in (1, 2, 5):
            if digit * size * MOST_LINES >= highest:
                return digit * size
        size *= 10
