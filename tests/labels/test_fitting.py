"""How large a symbol a label carries, and how words are fitted into lines."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import address
from fraginv.base.symbols import make_symbol
from fraginv.labels.rules.fitting import (
    FRAME_MM,
    cut_short,
    fit_lines,
    fit_symbol,
    longest_host,
    plain_line,
)
from fraginv.labels.rules.forms import EDGE_MM, TEXT_LEAST_MM
from fraginv.labels.rules.parts import text_width_mm
from fraginv.labels.rules.stocks import LETTER, STOCKS, LabelStock

BOTH = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
HOSTS = pytest.mark.parametrize("length", [4, 11, 12, 29, 30, 49, 60])


def each_letter_one_em(text: str, weight: int) -> float:
    """Measure a text in a font whose letters are all one em wide."""
    return float(len(text))


def host_of(length: int) -> str:
    """Return a host of that many characters."""
    return "A" * (length - 5) + ".TEST" if length > 5 else "A" * length


@BOTH
@HOSTS
def test_modules_and_quiet_zone_keep_their_measures(stock: LabelStock, length: int) -> None:
    # The quiet zone has 4 modules: ISO/IEC 18004. Half a millimetre for a module of a
    # label that gets wet: common practice, no source.
    fit = fit_symbol(stock, host=host_of(length))
    assert fit.module_mm >= 0.5
    assert fit.box_mm == pytest.approx((fit.modules + 8) * fit.module_mm + 2 * FRAME_MM)
    assert fit.box_mm <= stock.height_mm - 2 * EDGE_MM
    assert fit.symbol_mm == pytest.approx(fit.modules * fit.module_mm)
    assert text_width_mm(stock, fit) >= TEXT_LEAST_MM - 1e-9


@BOTH
@HOSTS
def test_the_size_is_that_of_the_symbol_that_is_printed(stock: LabelStock, length: int) -> None:
    host = host_of(length)
    symbol = make_symbol(address(host, "7K3Q9FN"), level="Q")
    fit = fit_symbol(stock, host=host)
    assert (fit.version, fit.modules) == (symbol.version, symbol.modules)


def test_a_module_is_a_whole_number_of_printer_dots() -> None:
    fit = fit_symbol(LETTER, host="REEF.TEST")
    dots = fit.module_mm * 300 / 25.4
    assert dots == pytest.approx(round(dots))
    assert fit.version == 2


@pytest.mark.parametrize(
    ("height", "dpi", "module"),
    [
        # 33 modules with quiet zone and 0.8 mm of frame, within what 1.2 mm of edges leave:
        # 8 dots of 300 need 24.35 mm, modules of 0.6 mm need 21.8 mm, 7 dots 21.56 mm.
        (24.4, 300, 8 * 25.4 / 300),
        (24.3, 300, 0.6),
        (21.81, 300, 0.6),
        (21.7, 300, 7 * 25.4 / 300),
        # 15 dots of 600 need 22.96 mm.
        (23.0, 600, 15 * 25.4 / 600),
        (22.9, 600, 0.6),
        # With five dots or fewer, one more or less would be a fifth of a module.
        (22.0, 203, 4 * 25.4 / 203),
        (22.7, 203, 5 * 25.4 / 203),
    ],
)
def test_modules_are_coarse_enough_to_measure_by_wherever_they_can_be(
    height: float, dpi: int, module: float
) -> None:
    stock = replace(LETTER, form="tile", height_mm=height, dpi=dpi)
    fit = fit_symbol(stock, host="REEF.TEST")
    assert fit.module_mm == pytest.approx(module)
    assert fit.can_measure == (module >= 0.6)
    if module == 0.6:
        assert fit.symbol_mm == pytest.approx(15.0)


def test_a_longer_host_on_a_common_sheet_can_be_measured_by() -> None:
    # 29 modules: 7 whole dots would be 0.593 mm.
    fit = fit_symbol(LETTER, host="A" * 12)
    assert (fit.modules, fit.module_mm, fit.can_measure) == (29, 0.6, True)
    finest = fit_symbol(LETTER, host="A" * longest_host(LETTER))
    assert (finest.module_mm < 0.6, finest.can_measure) == (True, False)


def test_a_host_of_eleven_characters_gives_the_small_symbol() -> None:
    # ISO/IEC 18004: version 2 at Q holds 29 alphanumeric characters; 18 of them are the rest.
    assert fit_symbol(LETTER, host="A" * 11).modules == 25
    assert fit_symbol(LETTER, host="A" * 12).modules == 29


def test_a_phone_reads_as_far_as_the_squares_are_large() -> None:
    # Common practice, no source: ten times the side of a symbol with 25 modules,
    # here 16.9 mm; one with smaller modules is read from nearer by.
    assert fit_symbol(LETTER, host="REEF.TEST").reach_cm == 15
    reach = [fit_symbol(LETTER, host="A" * most).reach_cm for most in (11, longest_host(LETTER))]
    assert reach == [15, 10]


@BOTH
def test_a_host_that_is_too_long_is_refused_with_the_longest_that_fits(stock: LabelStock) -> None:
    most = longest_host(stock)
    assert fit_symbol(stock, host="A" * most).module_mm >= 0.5
    with pytest.raises(InputError, match=f"An address of up to {most} characters fits"):
        fit_symbol(stock, host="A" * (most + 1))


@pytest.mark.parametrize(
    "host", ["", " ", "reef test", "REEF/TEST", "réef.test", "A_B", "-a", "a-"]
)
def test_what_is_no_host_is_refused(host: str) -> None:
    with pytest.raises(InputError, match="is no address for labels"):
        fit_symbol(LETTER, host=host)


@pytest.mark.parametrize("host", ["reef.test", "REEF.TEST:8000", "127.0.0.1:8000", "localhost"])
def test_hosts_are_taken_in_any_case_and_with_a_port(host: str) -> None:
    assert fit_symbol(LETTER, host=host).version == make_symbol(address(host, "0" * 7)).version


@pytest.mark.parametrize(
    ("text", "most", "lines"),
    [
        ("short", 1, ["short"]),
        ("two words", 2, ["two words"]),
        ("two words more", 2, ["two words", "more"]),
        ("two words and some more", 2, ["two words", "and some…"]),
        ("unbreakableword", 2, ["unbreakab…"]),
        ("unbreakableword and", 2, ["unbreakab…", "and"]),
        ("two words more", 1, ["two words…"]),
        ("", 2, [""]),
        ("  a\n\tb ", 1, ["a b"]),
    ],
)
def test_lines_are_filled_and_cut_short(text: str, most: int, lines: list[str]) -> None:
    found = fit_lines(text, room=10, weight=600, measure=each_letter_one_em, most=most)
    assert found == lines


@given(st.text(max_size=60), st.integers(min_value=2, max_value=30), st.integers(1, 3))
def test_no_line_is_wider_than_its_room(text: str, room: int, most: int) -> None:
    lines = fit_lines(text, room=room, weight=400, measure=each_letter_one_em, most=most)
    assert len(lines) <= most
    for line in lines:
        assert len(line) <= room
        assert line == "" or line.isprintable()


@given(st.text())
def test_a_line_never_breaks(text: str) -> None:
    assert len(plain_line(text).splitlines()) <= 1


def test_what_fits_is_not_cut() -> None:
    assert cut_short("exact", room=5, weight=400, measure=each_letter_one_em) == "exact"
    assert cut_short("exactly", room=5, weight=400, measure=each_letter_one_em) == "exac…"
