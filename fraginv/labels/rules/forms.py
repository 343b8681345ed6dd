"""The forms of labels: what a label is stuck on, and how much room it has for a symbol."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from fraginv.labels.rules.stocks import LabelStock

FORMS: Mapping[str, str] = MappingProxyType(
    {
        "plain": "Plain label",
        "edge": "Rack edge",
        "flag": "Slot flag, two faces alike",
        "strip": "Slot flag, folded strip",
        "stem": "Stem tag",
        "bag": "Bag label",
        "tile": "Tile or big plug",
    }
)
FORM_NAMES = list(FORMS)
FORM_NOTES: Mapping[str, str] = MappingProxyType(
    {
        "plain": "QR code, code, variety and day",
        "edge": "the last three characters large, to be read from where one stands",
        "flag": "folded over a stick: QR code and variety on both sides",
        "strip": "folded over a stick: QR code on one side, words on the other",
        "stem": "with a hole or a tail to tie it by",
        "bag": "for the customer, with the caution in full",
        "tile": "QR code, and the last three characters under or beside it",
    }
)

# What stays white at a label's edge, since sheets never lie quite straight in a printer.
EDGE_MM = 0.6
GAP_MM = 1.8
NARROW_GAP_MM = 1.2
RIGHT_MM = 1.5
TEXT_LEAST_MM = 30.0
# White on each side of the fold, for the stick.
FOLD_MM = 2.0
# The end of a stem tag that is tied or punched.
TAIL_MM = 10.0
# Three large characters beside a symbol, and with a line of words below one.
END_LEAST_MM = 11.0
END_BELOW_MM = 8.4
WORDS_LEAST_MM: Mapping[str, float] = MappingProxyType(
    {"plain": TEXT_LEAST_MM, "edge": 38.0, "stem": 14.0, "bag": 34.0}
)
# As high as the words of the form stand one under the other.
LEAST_HEIGHT_MM: Mapping[str, float] = MappingProxyType(
    {"plain": 24.6, "edge": 16.6, "flag": 16.0, "strip": 18.6, "stem": 17.2, "bag": 24.6}
    | {"tile": 16.0}
)


@dataclass(frozen=True, slots=True)
class Face:
    """Hold a part of a label that carries a symbol; in mm from the label's top left corner.

    ``beside`` says that words stand to the right of the symbol, else below it.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    beside: bool = True

    @property
    def room_mm(self) -> float:
        """Return the largest side that a symbol's box may have beside or above three characters."""
        if self.beside:
            return min(self.height_mm, self.width_mm - NARROW_GAP_MM - END_LEAST_MM)
        return min(self.width_mm, self.height_mm - END_BELOW_MM)


def faces_of(stock: LabelStock) -> tuple[Face, ...]:
    """Return the faces of a slot flag or a tile, with the words where the symbol is largest."""
    height = stock.height_mm - 2 * EDGE_MM
    if stock.form == "tile":
        places = [(EDGE_MM, stock.width_mm - 2 * EDGE_MM)]
    else:
        half = stock.width_mm / 2
        width = half - EDGE_MM - FOLD_MM
        places = [(EDGE_MM, width), (half + FOLD_MM, width)]
    beside, below = (
        tuple(Face(x, EDGE_MM, width, height, beside=side) for x, width in places)
        for side in (True, False)
    )
    return beside if beside[0].room_mm >= below[0].room_mm else below


def room_for_symbol_mm(stock: LabelStock) -> float:
    """Return the largest side in mm that a symbol with quiet zone and frame may have."""
    height = stock.height_mm - 2 * EDGE_MM
    if stock.form in {"flag", "tile"}:
        return faces_of(stock)[0].room_mm
    if stock.form == "strip":
        return min(height, stock.width_mm / 2 - EDGE_MM - FOLD_MM)
    words = GAP_MM + WORDS_LEAST_MM[stock.form] + RIGHT_MM
    return min(height, stock.width_mm - symbol_left_mm(stock.form) - words)


def symbol_left_mm(form: str) -> float:
    """Return how far from a label's left edge its symbol stands, where it has one."""
    return TAIL_MM if form == "stem" else EDGE_MM
