"""The one table in which all benches answer."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass

HEADINGS = ("case", "size", "unit", "product", "floor", "ratio", "goal", "met?")


@dataclass(frozen=True)
class Row:
    """One thing that was measured, and what it is held against.

    The goal is the most that ``figure`` may be: product over floor, or the
    product itself where there is no floor. A row without a goal is for reading.
    """

    case: str
    size: str
    product: float
    floor: float | None = None
    goal: float | None = None
    unit: str = "CPU ms"

    @property
    def figure(self) -> float:
        """Return what the goal is for."""
        return self.product if self.floor is None else self.product / self.floor

    @property
    def is_met(self) -> bool:
        """Tell whether the figure is not above its goal."""
        return self.goal is None or self.figure <= self.goal


def as_line(row: Row) -> str:
    """Write a row as one line of JSON, for the process that gathers them."""
    return json.dumps(asdict(row))


def from_line(line: str) -> Row:
    """Read what ``as_line`` wrote."""
    return Row(**json.loads(line))


def markdown(rows: Iterable[Row]) -> Iterator[str]:
    """Yield the lines of the table."""
    yield f"| {' | '.join(HEADINGS)} |"
    yield f"| --- | --- | --- |{' ---: |' * 4} --- |"
    for row in rows:
        yield f"| {' | '.join(cells(row))} |"


def cells(row: Row) -> tuple[str, ...]:
    """Write what stands in a row."""
    return (
        row.case,
        row.size,
        row.unit,
        short(row.product),
        short(row.floor),
        short(row.figure if row.floor is not None else None),
        short(row.goal),
        "" if row.goal is None else "yes" if row.is_met else "no",
    )


def short(figure: float | None) -> str:
    """Write a figure with three digits that count, or nothing."""
    if figure is None:
        return ""
    return f"{figure:,.0f}" if abs(figure) >= 100 else f"{figure:.3g}"
