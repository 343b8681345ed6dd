"""QR symbols: made for labels and papers, read from pictures.

This module knows neither codes nor paper: it turns a text into modules, modules
into strokes of ink, and pixels into texts.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import cast

import qrcode
import zxingcpp
from qrcode.constants import ERROR_CORRECT_H, ERROR_CORRECT_L, ERROR_CORRECT_M, ERROR_CORRECT_Q
from qrcode.exceptions import DataOverflowError
from qrcode.util import BIT_LIMIT_TABLE

from fraginv.base.errors import InputError

# Light modules that the standard wants on every side of a symbol.
QUIET_MODULES = 4

# The 45 characters of the standard's alphanumeric mode.
COMPACT = frozenset("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:")

# Neither its small cousin, Micro QR, which noise is easily taken for, nor the oblong one.
ONLY_QR = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCodeModel2])

LEVELS = {
    "L": ERROR_CORRECT_L,
    "M": ERROR_CORRECT_M,
    "Q": ERROR_CORRECT_Q,
    "H": ERROR_CORRECT_H,
}

# Trying all eight masks takes seven times as long. For addresses in capitals
# mask 0 costs no more penalty points, by the standard's own count, than the
# one that the library would choose (see the test of this module).
MASK = 0


@dataclass(frozen=True)
class Symbol:
    """Hold one QR symbol as rows of dark (True) and light (False) modules."""

    text: str
    level: str
    version: int
    rows: tuple[tuple[bool, ...], ...]

    @property
    def modules(self) -> int:
        """Return the modules along one side, without the quiet zone."""
        return len(self.rows)

    @property
    def modules_with_quiet(self) -> int:
        """Return the modules along one side with the quiet zone on both ends."""
        return self.modules + 2 * QUIET_MODULES

    def runs(self) -> Iterator[tuple[int, int, int]]:
        """Yield each unbroken run of dark modules as (column, row, length)."""
        for row, modules in enumerate(self.rows):
            start = -1
            for column, dark in enumerate(modules):
                if dark and start < 0:
                    start = column
                elif not dark and start >= 0:
                    yield start, row, column - start
                    start = -1
            if start >= 0:
                yield start, row, self.modules - start

    @cached_property
    def path(self) -> str:
        """Return the runs as PDF path operators, one module being one unit."""
        return "\n".join(f"{x} {y} {length} 1 re" for x, y, length in self.runs())

    @cached_property
    def outline(self) -> str:
        """Return the runs as an SVG path inside the quiet zone, one module being one unit."""
        edge = QUIET_MODULES
        return "".join(
            f"M{x + edge} {y + edge}h{length}v1h-{length}z" for x, y, length in self.runs()
        )

    def drawing(self, x_mm: float, y_mm: float, module_mm: float) -> str:
        """Return PDF operators that fill the symbol with the current colour.

        For use in a ``finisher`` of ``render_pdf``, where the unit is one
        millimetre and y grows downwards.

        Args: the top left corner of the first module in mm, a module's side in mm.
        """
        size = f"{module_mm:.5f}"
        return f"q {size} 0 0 {size} {x_mm:.4f} {y_mm:.4f} cm\n{self.path}\nf Q"


@dataclass(frozen=True)
class Reading:
    """Hold one symbol that was found in a picture.

    ``corners`` are the symbol's outer corners in pixels, pixel centres at whole
    numbers, clockwise from the symbol's own top left.
    """

    text: str
    corners: tuple[tuple[float, float], ...]
    version: int
    level: str


def make_symbol(text: str, *, level: str = "Q") -> Symbol:
    """Make the smallest QR symbol that holds the text at that level.

    The mode follows from the text: digits, the compact set (capitals), or bytes.
    Raises: InputError when the text is empty or longer than any symbol holds.
    Source: ISO/IEC 18004.
    """
    if not text:
        raise InputError("A symbol needs a text; this one is empty.")
    maker = qrcode.QRCode(error_correction=LEVELS[level], mask_pattern=MASK)
    maker.add_data(text, optimize=0)
    try:
        maker.make(fit=True)
    except (DataOverflowError, ValueError) as error:
        raise InputError(
            f"A text of {len(text)} characters is too long for a QR symbol. Shorten it."
        ) from error
    rows = tuple(tuple(bool(module) for module in row) for row in maker.modules)
    return Symbol(text=text, level=level, version=maker.version, rows=rows)


def compact_room(version: int, *, level: str = "Q") -> int:
    """Return how many characters of the compact set a symbol of that version holds.

    Args: version from 1 to 40.
    Source: ISO/IEC 18004: 4 bits say the mode, 9, 11 or 13 the length; two
        characters take 11 bits, an odd one 6.
    """
    length_bits = 9 if version < 10 else 11 if version < 27 else 13
    bits = BIT_LIMIT_TABLE[LEVELS[level]][version] - 4 - length_bits
    pairs, rest = divmod(bits, 11)
    return int(2 * pairs + (1 if rest >= 6 else 0))


def read_symbols(
    pixels: bytes | bytearray | memoryview, *, width: int, height: int
) -> list[Reading]:
    """Read every QR symbol in a grey picture, in the order in which they are found.

    Args: one byte a pixel (0 is black), row by row without gaps: ``bytes``, or
        ``memoryview(array)`` of a contiguous array. Width and height in pixels.
    Raises: InputError when the number of pixels does not fit width and height.
    """
    flat = memoryview(pixels).cast("B")
    if width < 1 or height < 1 or len(flat) != width * height:
        raise InputError(
            f"A grey picture of {width} × {height} pixels has {width * height} bytes,"
            f" not {len(flat)}."
        )
    found = zxingcpp.read_barcodes(flat.cast("B", shape=(height, width)), formats=ONLY_QR)
    return [reading_of(symbol) for symbol in found if symbol.valid]


def reading_of(symbol: zxingcpp.Barcode) -> Reading:
    """Turn what the reader found into a ``Reading``, corners at pixel centres."""
    place = symbol.position
    extra = cast(dict[str, str], symbol.extra)
    corners = (place.top_left, place.top_right, place.bottom_right, place.bottom_left)
    return Reading(
        text=symbol.text,
        corners=tuple((corner.x - 0.5, corner.y - 0.5) for corner in corners),
        version=int(extra["Version"]),
        level=extra["ECLevel"],
    )
