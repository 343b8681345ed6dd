"""What labels are planned from: words, lines, and where a symbol stands."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import floor

from fraginv.labels.rules.fitting import Measure, SymbolFit
from fraginv.labels.rules.forms import EDGE_MM, GAP_MM, RIGHT_MM, symbol_left_mm
from fraginv.labels.rules.stocks import LabelStock

MM_PER_POINT = 25.4 / 72
# Sizes of type are whole twentieths of a point.
STEPS = 20
BOLD, PLAIN = 600, 400
END_CHARACTERS = 3
HAIR_MM = 0.2
FOLD_TICK_MM = 1.5
# Lines of a form, each with its height in mm and the size of its type in points.
Rows = Sequence[tuple[str, float, float]]
# Rows may stand up to so many times further apart where a label is higher.
LOOSEST = 1.3


@dataclass(frozen=True, slots=True)
class Label:
    """Say what one label tells: a code, and words for people.

    ``caution`` is one short word set in white on black; ``to_write_on`` leaves
    a ruled line for a pen.
    """

    code: str
    title: str = ""
    detail: str = ""
    caution: str = ""
    to_write_on: bool = False

    @property
    def end(self) -> str:
        """Return the last three characters of the code."""
        return self.code[-END_CHARACTERS:]


@dataclass(frozen=True, slots=True)
class Line:
    """Place one line of words: its left end and middle in mm from the label's corner."""

    left_mm: float
    middle_mm: float
    width_mm: float
    size_pt: float
    weight: int = PLAIN
    centred: bool = False
    inverse: bool = False

    @property
    def room_em(self) -> float:
        """Return how wide a text may run, in ems."""
        return self.width_mm / MM_PER_POINT / self.size_pt


@dataclass(frozen=True, slots=True)
class Plan:
    """Say where on every label of a run its parts stand, in mm from the label's corner.

    ``symbols`` are the corners of the symbols' frames, ``bar`` the black bar
    behind a caution (left, top, width, height), ``writing`` the line for a pen
    (left, top, width), ``marks`` what is drawn on each label, as PDF operators.
    """

    symbols: tuple[tuple[float, float], ...]
    lines: Mapping[str, Line]
    bar: tuple[float, float, float, float] | None = None
    writing: tuple[float, float, float] | None = None
    marks: str = ""


@dataclass(frozen=True, slots=True)
class Asked:
    """Hold what a plan is made from."""

    stock: LabelStock
    fit: SymbolFit
    labels: Sequence[Label]
    measure: Measure


def text_left_mm(stock: LabelStock, fit: SymbolFit) -> float:
    """Return where text begins beside a symbol, in mm from a label's left edge."""
    return symbol_left_mm(stock.form) + fit.box_mm + GAP_MM


def text_width_mm(stock: LabelStock, fit: SymbolFit) -> float:
    """Return how wide lines of text beside a symbol may be, in mm."""
    return stock.width_mm - text_left_mm(stock, fit) - RIGHT_MM


def beside_left_edge(asked: Asked) -> tuple[float, float]:
    """Return the corner of a symbol that stands at the left, halfway up."""
    stock, fit = asked.stock, asked.fit
    return symbol_left_mm(stock.form), (stock.height_mm - fit.box_mm) / 2


def largest_pt(
    texts: Iterator[str], *, width_mm: float, most: float, weight: int, asked: Asked
) -> float:
    """Return the largest type, up to ``most``, in which the longest text fits a width."""
    longest = max((asked.measure(text, weight) for text in texts), default=1.0)
    return min(most, floor(STEPS * width_mm / MM_PER_POINT / max(longest, 1.0)) / STEPS)


def end_pt(asked: Asked, *, width_mm: float, most: float) -> float:
    """Return the largest type in which the last three characters of every label fit."""
    ends = (label.end for label in asked.labels)
    return largest_pt(ends, width_mm=width_mm, most=most, weight=BOLD, asked=asked)


def with_end(lines: Mapping[str, Line], asked: Asked) -> dict[str, Line]:
    """Return the lines with the last three characters in type that fits their width."""
    line = lines["end"]
    size = end_pt(asked, width_mm=line.width_mm, most=line.size_pt)
    return {**lines, "end": replace(line, size_pt=size)}


def rows_in(
    rows: Rows, left_mm: float, top_mm: float, width_mm: float, height_mm: float
) -> dict[str, Line]:
    """Stand lines one under the other in the middle of a field, as far apart as it lets them."""
    total = sum(height for _, height, _ in rows)
    stretch = min(LOOSEST, max(1.0, height_mm / total))
    at = top_mm + (height_mm - total * stretch) / 2
    lines = {}
    for kind, height, size in rows:
        heavy = kind == "end" or kind.startswith(("title", "code"))
        middle = at + height * stretch / 2
        lines[kind] = Line(left_mm, middle, width_mm, size, BOLD if heavy else PLAIN)
        at += height * stretch
    return lines


def under(line: Line) -> tuple[float, float, float]:
    """Return a ruled line to write on in place of a line of words."""
    return line.left_mm, line.middle_mm + line.size_pt * MM_PER_POINT / 2, line.width_mm


def fold_marks(stock: LabelStock) -> str:
    """Return short strokes at both edges where a label is folded."""
    x, low = stock.width_mm / 2, stock.height_mm - EDGE_MM - FOLD_TICK_MM
    return "\n".join(
        f"{x - HAIR_MM / 2:.4f} {y:.4f} {HAIR_MM} {FOLD_TICK_MM} re f" for y in (EDGE_MM, low)
    )


def circle(x: float, y: float, radius: float) -> str:
    """Return a circle as four curves.

    Source: common practice, no source: handles of 0.5523 radii, a circle to three in ten thousand.
    """
    far = radius * 0.5523
    curves = (
        (radius, far, far, radius, 0, radius),
        (-far, radius, -radius, far, -radius, 0),
        (-radius, -far, -far, -radius, 0, -radius),
        (far, -radius, radius, -far, radius, 0),
    )
    path = [f"{x + radius:.4f} {y:.4f} m"]
    for a, b, c, d, e, f in curves:
        path.append(f"{x + a:.4f} {y + b:.4f} {x + c:.4f} {y + d:.4f} {x + e:.4f} {y + f:.4f} c")
    return " ".join(path) + " s"
