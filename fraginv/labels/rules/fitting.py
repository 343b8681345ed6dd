"""How large a symbol a label can carry, and how a text is fitted into its lines."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import floor

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import address
from fraginv.base.symbols import QUIET_MODULES, compact_room, make_symbol
from fraginv.labels.rules.stocks import LabelStock

# A module is a whole number of dots of a 300 dpi printer, so that all are alike.
DOT_MM = 25.4 / 300
# 8 dots are 0.68 mm. A larger symbol would leave no room for words that a person reads.
MOST_DOTS = 8
# 6 dots are 0.51 mm. Under half a millimetre a wet label is not read reliably.
LEAST_DOTS = 6

# How many modules away a camera tells one from the next.
REACH_MODULES = 250
REACH_STEP_CM = 5

# A line round the quiet zone shows a camera where the symbol ends when algae covers a corner.
FRAME_MM = 0.4
# What stays white at a label's edge, since sheets never lie quite straight in a printer.
EDGE_MM = 0.6
GAP_MM = 1.8
RIGHT_MM = 1.5
TEXT_LEAST_MM = 30.0

LEVEL = "Q"
ANY_CODE = "0000000"
HOST = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?(?::[0-9]+)?")
ELLIPSIS = "…"

# Width of a text in ems at a weight.
Measure = Callable[[str, int], float]


@dataclass(frozen=True, slots=True)
class SymbolFit:
    """Say how large the symbol on a label is; measures in millimetres.

    ``symbol_mm`` is the side of the symbol itself, ``box_mm`` that of the
    square with quiet zone and frame.
    """

    version: int
    modules: int
    module_mm: float
    symbol_mm: float
    box_mm: float

    @property
    def reach_cm(self) -> int:
        """Return from how far a phone reads the symbol, in cm, in steps of 5 downwards.

        Source: common practice, no source: ten times the side of a symbol with
        25 modules, and as much for each module of a larger one.
        """
        return floor(REACH_MODULES * self.module_mm / 10 / REACH_STEP_CM) * REACH_STEP_CM


def box_mm(modules: int, *, dots: int) -> float:
    """Return the side in mm of a symbol with its quiet zone and frame."""
    return (modules + 2 * QUIET_MODULES) * dots * DOT_MM + 2 * FRAME_MM


def dots_per_module(modules: int, *, stock: LabelStock) -> int:
    """Return the most dots per module with which a symbol fits the stock; 0 when none do."""
    height = stock.height_mm - 2 * EDGE_MM
    width = stock.width_mm - EDGE_MM - GAP_MM - TEXT_LEAST_MM - RIGHT_MM
    for dots in range(MOST_DOTS, LEAST_DOTS - 1, -1):
        if box_mm(modules, dots=dots) <= min(height, width):
            return dots
    return 0


@lru_cache(maxsize=64)
def fit_symbol(stock: LabelStock, *, host: str) -> SymbolFit:
    """Return the size of the symbol for addresses at a host on a stock.

    Raises: InputError when the host is too long for the stock, or has
        characters that make no web address.
    """
    if not HOST.fullmatch(host):
        raise InputError(
            f"“{host}” is no address for labels; write it as in REEF.EXAMPLE, with letters a to z,"
            " digits, hyphens and dots only."
        )
    symbol = make_symbol(address(host, ANY_CODE), level=LEVEL)
    dots = dots_per_module(symbol.modules, stock=stock)
    if not dots:
        raise InputError(
            f"The address {host} is too long for labels of {stock.width_mm:.1f} ×"
            f" {stock.height_mm:.1f} mm: its QR code would be too fine for a phone to read. An"
            f" address of up to {longest_host(stock)} characters fits; shorten it or choose larger"
            " labels."
        )
    module = dots * DOT_MM
    return SymbolFit(
        version=symbol.version,
        modules=symbol.modules,
        module_mm=module,
        symbol_mm=symbol.modules * module,
        box_mm=box_mm(symbol.modules, dots=dots),
    )


def longest_host(stock: LabelStock) -> int:
    """Return how many characters a host may have to fit the stock."""
    fitting = [
        version for version in range(1, 41) if dots_per_module(17 + 4 * version, stock=stock)
    ]
    return compact_room(fitting[-1], level=LEVEL) - len(address("", ANY_CODE))


def plain_line(text: str) -> str:
    """Return a text as one line: what would break the line or cannot be printed is taken out."""
    return "".join(letter for letter in " ".join(text.split()) if letter.isprintable())


def fit_lines(text: str, *, room: float, weight: int, measure: Measure, most: int = 1) -> list[str]:
    """Break a text into at most ``most`` lines; what is too long ends in an ellipsis.

    Args: ``room`` is a line's width in ems.
    """
    words = plain_line(text).split(" ")
    lines: list[str] = []
    while words and len(lines) < most:
        count = len(words)
        if len(lines) < most - 1:
            while count > 1 and measure(" ".join(words[:count]), weight) > room:
                count -= 1
        lines.append(cut_short(" ".join(words[:count]), room=room, weight=weight, measure=measure))
        words = words[count:]
    return lines


def cut_short(text: str, *, room: float, weight: int, measure: Measure) -> str:
    """Return the text, or as much of its beginning as fits with an ellipsis behind it."""
    if measure(text, weight) <= room:
        return text
    while text and measure(text + ELLIPSIS, weight) > room:
        text = text[:-1]
    return text.rstrip() + ELLIPSIS
