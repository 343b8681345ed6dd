"""How large a symbol a label can carry, and how a text is fitted into its lines."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import address
from fraginv.base.rules.label_frame import LEAST_MEASURED_MODULE_MM, LINE_MM, LabelFrame, is_coarse
from fraginv.base.symbols import compact_room, make_symbol
from fraginv.labels.rules.forms import FORMS, LEAST_HEIGHT_MM, room_for_symbol_mm
from fraginv.labels.rules.stocks import LabelStock

# A module is a whole number of the printer's dots, so that all are alike. Only where that
# would make it too fine to measure by, and the label has room, it is not: then some modules
# are a dot wider than others, which costs little where each has at least so many dots.
FEWEST_DOTS = 6
MM_PER_INCH = 25.4
# 8 dots of 300 to the inch. A larger symbol would leave no room for words that a person reads.
MOST_MODULE_MM = 0.68
# Under half a millimetre a wet label is not read reliably.
LEAST_MODULE_MM = 0.5

# How many modules away a camera tells one from the next.
REACH_MODULES = 250
REACH_STEP_CM = 5

FRAME_MM = LINE_MM
# A host of three characters, such as a.b, is the shortest that there can be.
SHORTEST_HOST = 3
# Measures that were turned into another unit and back are equal up to this.
ROUNDING_MM = 1e-6

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

    @property
    def can_measure(self) -> bool:
        """Tell whether photographs can be measured by the symbol, or it is only read."""
        return is_coarse(self.module_mm)


def box_mm(modules: int, *, module_mm: float) -> float:
    """Return the side in mm of a symbol with its quiet zone and frame."""
    return LabelFrame(modules * module_mm, modules).outer.width_mm


def largest_module_mm(modules: int, *, stock: LabelStock) -> float:
    """Return the largest side of a module with which a symbol fits the stock; 0 when none does."""
    dot, room = MM_PER_INCH / stock.dpi, room_for_symbol_mm(stock) + ROUNDING_MM
    least = LEAST_MEASURED_MODULE_MM
    counts = range(floor(MOST_MODULE_MM / dot), ceil(LEAST_MODULE_MM / dot) - 1, -1)
    fitting = (dots * dot for dots in counts if box_mm(modules, module_mm=dots * dot) <= room)
    whole = next(fitting, 0.0)
    if is_coarse(whole) or dot > least / FEWEST_DOTS or box_mm(modules, module_mm=least) > room:
        return whole
    return least


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
    check_height(stock)
    symbol = make_symbol(address(host, ANY_CODE), level=LEVEL)
    module = largest_module_mm(symbol.modules, stock=stock)
    if not module:
        raise no_fit(stock, host=host)
    return SymbolFit(
        version=symbol.version,
        modules=symbol.modules,
        module_mm=module,
        symbol_mm=symbol.modules * module,
        box_mm=box_mm(symbol.modules, module_mm=module),
    )


def check_height(stock: LabelStock) -> None:
    """Refuse labels that are too low for the words of their form.

    Raises: InputError.
    """
    least = LEAST_HEIGHT_MM[stock.form]
    if stock.height_mm < least - ROUNDING_MM:
        raise InputError(
            f"Labels of {stock.width_mm:.1f} × {stock.height_mm:.1f} mm are too low for the form"
            f" “{FORMS[stock.form]}”, which needs {least:.1f} mm. Choose another form, or higher"
            " labels."
        )


def no_fit(stock: LabelStock, *, host: str) -> InputError:
    """Say why the symbol of a host does not fit a stock, and what would."""
    size = f"{stock.width_mm:.1f} × {stock.height_mm:.1f} mm"
    most = longest_host(stock)
    if most < SHORTEST_HOST:
        return InputError(
            f"Labels of {size} are too small for the form “{FORMS[stock.form]}”: a QR code that a"
            " phone reads when it is wet does not fit beside the words. Choose another form, or"
            " larger labels."
        )
    return InputError(
        f"The address {host} is too long for labels of {size}: its QR code would be too fine for"
        f" a phone to read. An address of up to {most} characters fits; shorten it or choose"
        " larger labels."
    )


def longest_host(stock: LabelStock) -> int:
    """Return how many characters a host may have to fit the stock; 0 or less where none fits."""
    fitting = [
        version for version in range(1, 41) if largest_module_mm(17 + 4 * version, stock=stock)
    ]
    room = compact_room(fitting[-1], level=LEVEL) if fitting else 0
    return room - len(address("", ANY_CODE))


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
