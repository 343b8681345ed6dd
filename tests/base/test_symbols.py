"""QR symbols against the standard's worked example and its tables."""

import random
from collections.abc import Iterator

import numpy as np
import pytest
import zxingcpp
from qrcode.constants import ERROR_CORRECT_Q
from qrcode.main import QRCode
from qrcode.util import lost_point

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import ALPHABET
from fraginv.base.symbols import COMPACT, MASK, Symbol, compact_room, make_symbol, read_symbols

# ISO/IEC 18004, capacity of versions 1 to 4 in alphanumeric mode, levels L / M / Q / H;
# the same in "Information capacity and versions of the QR Code", qrcode.com.
CAPACITY = {
    1: {"L": 25, "M": 20, "Q": 16, "H": 10},
    2: {"L": 47, "M": 38, "Q": 29, "H": 20},
    3: {"L": 77, "M": 61, "Q": 47, "H": 35},
    4: {"L": 114, "M": 90, "Q": 67, "H": 50},
}
ROWS = [(version, level) for version in CAPACITY for level in "LMQH"]


def pixels_of(symbol: Symbol, *, scale: int = 4) -> tuple[bytes, int]:
    """Draw a symbol with its quiet zone as grey pixels; return them and the side."""
    side = symbol.modules_with_quiet * scale
    rows = [bytes([255]) * side] * (4 * scale)
    for modules in symbol.rows:
        middle = b"".join(bytes([0 if dark else 255]) * scale for dark in modules)
        white = bytes([255]) * (4 * scale)
        rows += [white + middle + white] * scale
    rows += [bytes([255]) * side] * (4 * scale)
    return b"".join(rows), side


def codewords_of(symbol: Symbol) -> list[str]:
    """Read the 26 codewords of a version 1 symbol off its modules, mask 0 taken away.

    Source: ISO/IEC 18004, placement of codewords: two columns at a time from the
    right, upwards first, column 6 left out; mask 0 turns modules with an even
    sum of row and column.
    """

    def is_function(row: int, column: int) -> bool:
        finders = (row < 9 and column < 9) or (row < 9 and column > 12) or (row > 12 and column < 9)
        return finders or row == 6 or column == 6

    def path() -> Iterator[tuple[int, int]]:
        upwards = True
        for right in (20, 18, 16, 14, 12, 10, 8, 5, 3, 1):
            for row in range(20, -1, -1) if upwards else range(21):
                yield row, right
                yield row, right - 1
            upwards = not upwards

    bits = [
        str(int(symbol.rows[row][column] ^ ((row + column) % 2 == 0)))
        for row, column in path()
        if not is_function(row, column)
    ]
    return ["".join(bits[start : start + 8]) for start in range(0, len(bits), 8)]


def test_worked_example_of_the_standard() -> None:
    # ISO/IEC 18004:2000, annex of symbol encoding examples: 01234567 as 1-M, numeric mode.
    data = "00010000 00100000 00001100 01010110 01100001 10000000"
    pad = " 11101100 00010001" * 5
    correction = (
        "10100101 00100100 11010100 11000001 11101101 00110110 11000111 10000111 00101100 01010101"
    )

    symbol = make_symbol("01234567", level="M")

    assert MASK == 0
    assert symbol.version == 1
    assert symbol.modules == 21
    assert " ".join(codewords_of(symbol)) == f"{data}{pad} {correction}"


@pytest.mark.parametrize(("version", "level"), ROWS)
def test_capacity_table_of_the_standard(version: int, level: str) -> None:
    room = CAPACITY[version][level]

    assert compact_room(version, level=level) == room
    assert make_symbol("A" * room, level=level).version == version
    assert make_symbol("A" * (room + 1), level=level).version == version + 1
    assert make_symbol("A" * room, level=level).modules == 17 + 4 * version


def test_largest_symbol_holds_what_the_standard_says() -> None:
    # ISO/IEC 18004: version 40-L, 177 modules, 4296 alphanumeric characters.
    assert compact_room(40, level="L") == 4296


def test_compact_set_has_the_45_characters() -> None:
    # ISO/IEC 18004: 0-9, A-Z, space and $ % * + - . / :
    assert len(COMPACT) == 45
    assert make_symbol("".join(sorted(COMPACT))).version == 3


@pytest.mark.parametrize(
    ("level", "capitals", "lower_case"), [("L", 2, 2), ("M", 2, 3), ("Q", 3, 3), ("H", 3, 4)]
)
def test_capitals_keep_an_address_small(level: str, capitals: int, lower_case: int) -> None:
    # Worked out with segno, error boost off: 31 characters of the set, and their twin.
    address = "HTTPS://EXAMPLE.ORG/F/AB12CD34X"
    assert make_symbol(address, level=level).version == capitals
    assert make_symbol(address.lower(), level=level).version == lower_case


@pytest.mark.parametrize("text", ["01234567", "HTTPS://REEF.TEST/T/7K3Q9FN", "Grüße ≠ 珊瑚"])
@pytest.mark.parametrize("level", ["L", "M", "Q", "H"])
def test_what_is_made_is_read(text: str, level: str) -> None:
    symbol = make_symbol(text, level=level)
    pixels, side = pixels_of(symbol)

    found = read_symbols(pixels, width=side, height=side)

    assert [(one.text, one.level, one.version) for one in found] == [(text, level, symbol.version)]


def test_corners_lie_at_pixel_centres() -> None:
    symbol = make_symbol("HTTPS://REEF.TEST/T/7K3Q9FN")
    pixels, side = pixels_of(symbol, scale=10)

    (found,) = read_symbols(pixels, width=side, height=side)

    # Four quiet modules of ten pixels: the symbol begins between pixels 39 and 40.
    last = 39.5 + 10 * symbol.modules
    expected = ((39.5, 39.5), (last, 39.5), (last, last), (39.5, last))
    for corner, wanted in zip(found.corners, expected, strict=True):
        assert corner == pytest.approx(wanted, abs=1.0)


def test_runs_cover_each_dark_module_once() -> None:
    symbol = make_symbol("HTTPS://REEF.TEST/T/7K3Q9FN")
    covered = [
        (row, column + step) for column, row, length in symbol.runs() for step in range(length)
    ]
    dark = {
        (row, column)
        for row, modules in enumerate(symbol.rows)
        for column, is_dark in enumerate(modules)
        if is_dark
    }
    assert len(covered) == len(set(covered))
    assert set(covered) == dark


def test_the_fixed_mask_costs_no_more_than_the_chosen_one() -> None:
    # Penalty points by the standard's rules, counted by the qrcode library on whole symbols.
    chance = random.Random(20261125)
    fixed, chosen = 0, 0
    for _ in range(40):
        text = "HTTPS://REEF.TEST/T/" + "".join(chance.choices(ALPHABET, k=7))
        fixed += lost_point([list(row) for row in make_symbol(text).rows])
        library = QRCode(error_correction=ERROR_CORRECT_Q)
        library.add_data(text, optimize=0)
        library.make()
        chosen += lost_point(library.modules)
    assert fixed <= chosen * 1.05


@pytest.mark.parametrize(("text", "message"), [("", "empty"), ("A" * 5000, "too long")])
def test_what_no_symbol_holds_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputError, match=message):
        make_symbol(text)


@pytest.mark.parametrize(("width", "height"), [(0, 0), (4, 5), (-4, -4)])
def test_pixels_that_do_not_fit_are_refused(width: int, height: int) -> None:
    with pytest.raises(InputError, match="16"):
        read_symbols(bytes(16), width=width, height=height)


def test_an_empty_picture_has_no_symbols() -> None:
    assert read_symbols(bytes([255]) * 10_000, width=100, height=100) == []


def test_a_micro_qr_is_none_of_ours() -> None:
    made = zxingcpp.create_barcode("12345", zxingcpp.BarcodeFormat.MicroQRCode)
    plain = np.pad(np.array(made.to_image(scale=4)), 40, constant_values=255)
    assert read_symbols(plain.tobytes(), width=plain.shape[1], height=plain.shape[0]) == []
