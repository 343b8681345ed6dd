"""Losses counted one way or another, as rows and as a small picture of bars."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.days import EARLIEST_DAY

# The picture's own units: it is drawn at any width.
WIDTH: Final = 600
ROW: Final = 56
WORD: Final = 24
BAR_TOP: Final = 32
BAR: Final = 18
DRAWN: Final = 12


class Way(StrEnum):
    """By what losses are counted."""

    CAUSE = "cause"
    VARIETY = "variety"
    COLONY = "colony"
    TROUGH = "trough"
    TOOL = "tool"
    MEDIUM = "medium"
    CUTTER = "cutter"


WAYS: Final[dict[Way, str]] = {
    Way.CAUSE: "Cause",
    Way.VARIETY: "Variety",
    Way.COLONY: "Colony",
    Way.TROUGH: "Trough",
    Way.TOOL: "Tool",
    Way.MEDIUM: "Glued to",
    Way.CUTTER: "Cut by",
}
# What compares people and their ways of working is for those who manage them.
COMPARING: Final = frozenset({Way.TOOL, Way.MEDIUM, Way.CUTTER})
# A loss at the bench has no cause and happened in no trough.
WITHOUT_BENCH: Final = frozenset({Way.CAUSE, Way.TROUGH})


@dataclass(frozen=True)
class LossRow:
    """Pieces lost in the troughs and at the bench under one name, and how many were cut."""

    name: str
    lost: int
    bench: int = 0
    cut: int = 0


@dataclass(frozen=True)
class LossReport:
    """A period's losses; ``rows`` add up to ``lost``, and to ``bench`` where that is told apart."""

    way: Way
    first: date
    last: date
    rows: Sequence[LossRow]
    lost: int
    bench: int

    @property
    def tells_bench(self) -> bool:
        """Tell whether losses at the bench stand in the rows too."""
        return self.way not in WITHOUT_BENCH


@dataclass(frozen=True, slots=True)
class NamedBar:
    """One bar under its name: losses in the troughs, and those at the bench after them."""

    name: str
    pieces: int
    y: int
    width: float
    bench: float


@dataclass(frozen=True, slots=True)
class Bars:
    """The whole picture."""

    bars: Sequence[NamedBar]
    height: int
    width: int = WIDTH
    word: int = WORD
    top: int = BAR_TOP
    thick: int = BAR


def draw_bars(rows: Sequence[LossRow]) -> Bars:
    """Lay out one bar a row for the first dozen, the longest as wide as the picture."""
    shown = [row for row in rows if row.lost + row.bench][:DRAWN]
    most = max((row.lost + row.bench for row in shown), default=1)
    bars = [
        NamedBar(
            name=row.name,
            pieces=row.lost + row.bench,
            y=place * ROW,
            width=round(WIDTH * row.lost / most, 1),
            bench=round(WIDTH * row.bench / most, 1),
        )
        for place, row in enumerate(shown)
    ]
    return Bars(bars, height=ROW * len(shown))


def merged(lost: Iterable[tuple[str, int]], bench: Iterable[tuple[str, int, int]]) -> list[LossRow]:
    """Put losses in the troughs and at the bench together by name, most first."""
    found: dict[str, LossRow] = {}
    told = [*((name, pieces, 0, 0) for name, pieces in lost), *((n, 0, d, c) for n, d, c in bench)]
    for name, pieces, dead, cut in told:
        one = found.get(name, LossRow(name, 0))
        found[name] = LossRow(name, one.lost + pieces, one.bench + dead, one.cut + cut)
    kept = [row for row in found.values() if row.lost or row.bench]
    return sorted(kept, key=lambda row: (-(row.lost + row.bench), row.name.casefold()))


def check_period(first: date, last: date, *, today: date) -> None:
    """Refuse a period that ends before it begins, or has not come.

    Raises: InputError.
    """
    if last < first:
        raise InputError(f"The period ends on {last.isoformat()}, before it begins.")
    if first > today:
        raise InputError(f"{first.isoformat()} has not come yet. Choose an earlier day.")
    if first < EARLIEST_DAY:
        raise InputError(f"{first.isoformat()} is too long ago. Look at the year.")
