"""How a printer strays, and that what is sent to it is set right for it.

A printer that strays is played by drawing the page as such a one would: every
place p of the page comes out at stretch × p + shift.
"""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import InputError
from fraginv.labels.rules.fitting import FRAME_MM
from fraginv.labels.rules.forms import EDGE_MM
from fraginv.labels.rules.printers import (
    Check,
    Correction,
    Measures,
    check_drawing,
    check_for,
    check_measures,
    check_offset,
    corrected,
    correction_from,
)
from fraginv.labels.rules.stocks import A4, LETTER, STOCKS, LabelStock
from tests.base.papers import symbols_of
from tests.labels.test_forms import ROLL
from tests.labels.test_sheets import DOTS_PER_MM, codes, labels_of_all_sorts, laid_out, pdf_of

BOTH = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
TRUE = Measures(across_tenths=1000, down_tenths=1000, left_tenths=200, top_tenths=200)


def printed(mm: float, *, stretch: float, shift_mm: float) -> float:
    """Return where a printer that strays puts what it is sent."""
    return stretch * mm + shift_mm


def test_a_worked_example() -> None:
    # By hand: a bar of 100 mm that comes out 99.5 mm long, and begins 21.0 mm from an edge
    # instead of 20: the printer puts p at 0.995 p + 1.1, for 0.995 × 20 + 1.1 = 21.0.
    measures = replace(TRUE, across_tenths=995, left_tenths=210)
    found = correction_from(measures, check=Check())
    assert (found.stretch_x, found.stretch_y, found.shift_y_mm) == (0.995, 1.0, 0.0)
    assert found.shift_x_mm == pytest.approx(1.1)
    # What belongs at 50 mm must be sent to (50 - 1.1) / 0.995 = 49.146 mm.
    stock = replace(LETTER, left_mm=50.0, columns=1)
    assert corrected(stock, correction=found).left_mm == pytest.approx(49.1457, abs=1e-4)


def test_a_true_printer_changes_nothing() -> None:
    assert correction_from(TRUE, check=Check()).is_none
    assert corrected(LETTER, correction=Correction()) is LETTER


@given(st.integers(980, 1020), st.integers(980, 1020), st.integers(160, 240), st.integers(160, 240))
def test_whatever_a_printer_does_labels_come_out_where_they_are(
    across: int, down: int, left: int, top: int
) -> None:
    found = correction_from(Measures(across, down, left, top), check=Check())
    stock = replace(A4, left_mm=20.0, top_mm=20.0, columns=2, rows=7)
    sent = corrected(stock, correction=found)
    for index in range(stock.per_sheet):
        place, other = stock.place(index), sent.place(index)
        x = printed(other.x_mm, stretch=across / 1000, shift_mm=found.shift_x_mm)
        y = printed(other.y_mm, stretch=down / 1000, shift_mm=found.shift_y_mm)
        assert (x, y) == pytest.approx((place.x_mm, place.y_mm))
    assert sent.width_mm * across / 1000 == pytest.approx(stock.width_mm)
    assert sent.height_mm * down / 1000 == pytest.approx(stock.height_mm)
    assert (sent.page_width_mm, sent.page_height_mm) == (210.0, 297.0)


@BOTH
def test_symbols_come_out_of_a_straying_printer_where_they_belong(stock: LabelStock) -> None:
    # To a quarter of a millimetre: the symbol keeps its own size, so that its far corner is
    # off by what the printer adds to 17 mm, and the reader finds corners to a tenth.
    measures = Measures(across_tenths=1008, down_tenths=993, left_tenths=190, top_tenths=207)
    correction = correction_from(measures, check=Check())
    sent = corrected(stock, correction=correction)
    layout = laid_out(labels_of_all_sorts(stock.per_sheet), stock=sent)
    (page,) = symbols_of(pdf_of(layout), dpi=600)
    inner = FRAME_MM + 4 * layout.fit.module_mm
    for index, code in enumerate(codes(stock.per_sheet)):
        (found,) = [one for one in page if one.text.endswith(code)]
        x, y = ((value + 0.5) / DOTS_PER_MM for value in found.corners[0])
        place = stock.place(index)
        middle = (stock.height_mm - layout.fit.box_mm) / 2
        assert printed(x, stretch=1.008, shift_mm=correction.shift_x_mm) == pytest.approx(
            place.x_mm + EDGE_MM + inner, abs=0.25
        )
        assert printed(y, stretch=0.993, shift_mm=correction.shift_y_mm) == pytest.approx(
            place.y_mm + middle + inner, abs=0.25
        )


def test_an_offset_moves_everything_by_tenths_of_a_millimetre() -> None:
    moved = corrected(LETTER, correction=Correction(right_mm=0.7, down_mm=-1.3))
    for index in range(LETTER.per_sheet):
        assert moved.place(index).x_mm == pytest.approx(LETTER.place(index).x_mm + 0.7)
        assert moved.place(index).y_mm == pytest.approx(LETTER.place(index).y_mm - 1.3)


@pytest.mark.parametrize(
    ("measures", "message"),
    [
        ({"across_tenths": 965}, r"across is 100 mm and was measured as 96\.5 mm.*true size"),
        ({"down_tenths": 1021}, r"down is 100 mm .* from 98\.0 to 102\.0 mm"),
        ({"left_tenths": 301}, r"20 mm from the left edge .* from 10\.0 to 30\.0 mm"),
        ({"top_tenths": 99}, r"20 mm from the top edge and was measured at 9\.9 mm"),
        ({"across_tenths": 0, "top_tenths": 0}, r"across .* top edge"),
    ],
)
def test_what_no_printer_does_is_refused_with_what_to_do(
    measures: dict[str, int], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        check_measures(replace(TRUE, **measures), check=Check())


@pytest.mark.parametrize(
    "measures",
    [
        {"across_tenths": 980, "down_tenths": 1020},
        {"left_tenths": 100, "top_tenths": 300},
        {},
    ],
)
def test_what_can_be_set_right_is_taken(measures: dict[str, int]) -> None:
    check_measures(replace(TRUE, **measures), check=Check())


def test_a_short_bar_may_be_read_half_a_millimetre_wrong() -> None:
    check = Check(bar_mm=20, corner_mm=4)
    check_measures(Measures(205, 195, 40, 40), check=check)
    with pytest.raises(InputError, match=r"from 19\.5 to 20\.5 mm"):
        check_measures(Measures(206, 200, 40, 40), check=check)


@pytest.mark.parametrize(("right", "down"), [(101, 0), (-101, 0), (0, 101), (0, -101)])
def test_more_than_a_centimetre_is_refused(right: int, down: int) -> None:
    with pytest.raises(InputError, match=r"from -10\.0 to 10\.0 mm"):
        check_offset(right, down_tenths=down)
    check_offset(right // 2, down_tenths=down // 2)


@pytest.mark.parametrize(
    ("move", "side"),
    [
        ({"right_mm": -6.0}, "left"),
        ({"right_mm": 6.0}, "right"),
        ({"down_mm": -13.5}, "top"),
        ({"down_mm": 13.5}, "bottom"),
    ],
)
def test_labels_are_not_sent_off_the_page(move: dict[str, float], side: str) -> None:
    with pytest.raises(InputError, match=f"cut off at the {side} by 0.*guides"):
        corrected(LETTER, correction=Correction(**move))


def test_a_roll_moves_within_its_edge() -> None:
    assert corrected(ROLL, correction=Correction(right_mm=-0.5)).left_mm == -0.5
    with pytest.raises(InputError, match="cut off at the left"):
        corrected(ROLL, correction=Correction(right_mm=-0.8))


@pytest.mark.parametrize(
    ("page", "check"),
    [
        ((215.9, 279.4), Check(100, 20)),
        ((210.0, 297.0), Check(100, 20)),
        ((70.0, 35.0), Check(20, 4)),
        ((104.0, 159.0), Check(90, 4)),
        ((139.0, 200.0), Check(100, 4)),
        ((140.0, 140.0), Check(100, 20)),
    ],
)
def test_bars_are_as_long_as_the_page_lets_them(page: tuple[float, float], check: Check) -> None:
    width, height = page
    assert check_for(page_width_mm=width, page_height_mm=height) == check
    assert check.corner_mm + check.bar_mm <= min(page) - 4


def test_a_page_without_room_for_a_bar_is_refused() -> None:
    with pytest.raises(InputError, match="too small to measure a printer on"):
        check_for(page_width_mm=70, page_height_mm=17)


def test_the_bars_have_the_length_that_they_say() -> None:
    drawing = check_drawing(Check(), page_width_mm=210, page_height_mm=297).split("\n")
    across, down = (
        [float(part) for part in line.removesuffix(" re f").split()] for line in drawing[:2]
    )
    assert across[2] == down[3] == 100
    assert across[0] == down[1] == 20
    # The strokes across the bar's ends lie 100 mm apart, middle to middle.
    upright = [
        float(x) + float(width) / 2
        for x, _, width, height, *_ in (line.split() for line in drawing[2:24])
        if float(height) == 4
    ]
    assert upright == pytest.approx([20, 120])
