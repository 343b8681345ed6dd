"""The measuring card: what is printed on it and where, in millimetres.

The card's plane has its origin in the card's top left corner, x to the right, y down.
``labels`` prints the card, ``growth`` finds it in photographs; both take it from here.

Eight square markers stand around a window for the plug, so that glare or a thumb may cost
some of them. Their patterns are our own. They were drawn at random (the seed stands in
``tests/base/test_card.py``, which draws them again) until every two differ in at least 14 of
36 bits, however either is turned, and each as much from itself turned, from its negative and
from the others' negatives. So a few bits read wrong make no marker of another, and hardly
anything else in a picture is taken for one.
"""

from dataclasses import dataclass
from typing import Final

# Bits along a side of a pattern, and cells with the black border around them.
PATTERN_BITS: Final = 6
CELLS: Final = PATTERN_BITS + 2
LEAST_DIFFERENCE: Final = 14
MARKER_MM: Final = 22.0
CELL_MM: Final = MARKER_MM / CELLS
# White that must be left around a marker.
QUIET_MM: Final = 4.5


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in millimetres by its top left corner and its size."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    @property
    def right_mm(self) -> float:
        """Return where it ends on the right."""
        return self.left_mm + self.width_mm

    @property
    def bottom_mm(self) -> float:
        """Return where it ends at the bottom."""
        return self.top_mm + self.height_mm

    @property
    def centre(self) -> tuple[float, float]:
        """Return its middle as x and y in mm."""
        return (self.left_mm + self.width_mm / 2, self.top_mm + self.height_mm / 2)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Return its corners in mm, clockwise from the top left."""
        left, top, right, bottom = self.left_mm, self.top_mm, self.right_mm, self.bottom_mm
        return ((left, top), (right, top), (right, bottom), (left, bottom))


@dataclass(frozen=True, slots=True)
class Marker:
    """One coded square: its number, its rows of bits ("#" is dark) and its place."""

    number: int
    bits: tuple[str, ...]
    place: Box

    @property
    def cells(self) -> tuple[tuple[bool, ...], ...]:
        """Return all cells with the border, row by row; True is dark."""
        edge = (True,) * CELLS
        inner = tuple((True, *(bit == "#" for bit in row), True) for row in self.bits)
        return (edge, *inner, edge)


PATTERNS: Final = (
    ("#.#.##", "######", ".#.##.", "#.#...", ".#..#.", "#..#.."),
    ("..###.", ".##..#", "#....#", "#..#.#", "#.#...", "#.####"),
    (".##...", ".#.#.#", ".###.#", ".##...", "##.##.", "#.#..."),
    ("###.#.", ".##..#", "...###", ".#...#", "#.#.##", ".##.#."),
    ("##.#.#", "#.#.#.", "....#.", ".##..#", "###...", "..#.##"),
    (".##.#.", "..##.#", ".#..#.", "#.###.", ".#..#.", ".#####"),
    (".#.##.", ".#....", ".#..##", "##.##.", "###.##", "..###."),
    ("##..#.", "###.##", "#.##..", "#...#.", "#.#.##", "..#..#"),
)

CARD_WIDTH_MM: Final = 124.0
CARD_HEIGHT_MM: Final = 160.0

# Top left corners of the markers: three above, two beside the window, three below.
MARKER_PLACES: Final = (
    (5.0, 5.0),
    (51.0, 5.0),
    (97.0, 5.0),
    (5.0, 63.0),
    (97.0, 63.0),
    (5.0, 121.0),
    (51.0, 121.0),
    (97.0, 121.0),
)

MARKERS: Final = tuple(
    Marker(number, bits, Box(left, top, MARKER_MM, MARKER_MM))
    for number, (bits, (left, top)) in enumerate(zip(PATTERNS, MARKER_PLACES, strict=True))
)

# White and empty: here the plug stands.
WINDOW: Final = Box(37.0, 33.0, 50.0, 50.0)
# White and empty: here the frag's own label lies flat, so that its code is in the picture.
LABEL_PLACE: Final = Box(33.0, 86.0, 58.0, 30.0)
# A bar of exactly 100 mm, to check the printer by.
BAR: Final = Box(12.0, 150.0, 100.0, 3.0)


@dataclass(frozen=True, slots=True)
class CardPaper:
    """A sheet that the card is printed on, and where on it the card stands."""

    name: str
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float


PAPERS: Final = {
    # Source: ISO 216; ANSI/ASME Y14.1 (from memory).
    "a5": CardPaper("a5", 148.0, 210.0, (148.0 - CARD_WIDTH_MM) / 2, 12.0),
    "letter": CardPaper("letter", 215.9, 279.4, (215.9 - CARD_WIDTH_MM) / 2, 20.0),
}
