"""Label sheets by their measures."""

from itertools import pairwise

import pytest

from fraginv.base.errors import InputError
from fraginv.labels.rules.stocks import (
    A4,
    LETTER,
    STOCKS,
    LabelStock,
    check_skip,
    stock_for_paper,
    stock_named,
)

BOTH = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)


def test_papers_have_their_standard_sizes() -> None:
    # ISO 216 for A4, ANSI/ASME Y14.1 for Letter (from memory).
    assert (A4.page_width_mm, A4.page_height_mm) == (210, 297)
    assert (LETTER.page_width_mm, LETTER.page_height_mm) == (215.9, 279.4)


def test_the_letter_stock_is_a_round_number_of_inches() -> None:
    # Common practice, no source: labels of 2 5/8 by 1 inch, half an inch from the top.
    inches = [
        measure / 25.4
        for measure in (LETTER.width_mm, LETTER.height_mm, LETTER.top_mm, LETTER.pitch_x_mm)
    ]
    assert inches == pytest.approx([2.625, 1.0, 0.5, 2.75])


@BOTH
def test_all_labels_lie_on_the_page_and_apart(stock: LabelStock) -> None:
    places = [stock.place(index) for index in range(stock.per_sheet)]
    assert {place.sheet for place in places} == {0}
    for place in places:
        assert 0 <= place.x_mm <= stock.page_width_mm - stock.width_mm
        assert 0 <= place.y_mm <= stock.page_height_mm - stock.height_mm
    for one, two in pairwise(places):
        same_row = one.row == two.row
        assert (two.x_mm - one.x_mm >= stock.width_mm) if same_row else (two.y_mm > one.y_mm)
    assert stock.pitch_y_mm >= stock.height_mm


@BOTH
def test_sheets_are_centred(stock: LabelStock) -> None:
    last = stock.place(stock.per_sheet - 1)
    right = stock.page_width_mm - last.x_mm - stock.width_mm
    bottom = stock.page_height_mm - last.y_mm - stock.height_mm
    assert right == pytest.approx(stock.left_mm, abs=0.02)
    assert bottom == pytest.approx(stock.top_mm, abs=0.02)


@BOTH
def test_the_next_sheet_begins_where_the_first_one_did(stock: LabelStock) -> None:
    first, next_one = stock.place(0), stock.place(stock.per_sheet)
    assert (next_one.sheet, next_one.x_mm, next_one.y_mm) == (1, first.x_mm, first.y_mm)


def test_names_are_read_in_any_case() -> None:
    assert stock_named(" A4-63.5x33.9 ") is A4
    assert stock_named("letter-66.7X25.4") is LETTER


def test_an_unknown_stock_is_named_with_the_known_ones() -> None:
    with pytest.raises(InputError, match=r"“round”.*letter-66\.7x25\.4, a4-63\.5x33\.9"):
        stock_named("round")


@pytest.mark.parametrize(("paper", "stock"), [("letter", LETTER), ("a4", A4)])
def test_the_stock_follows_the_paper(paper: str, stock: LabelStock) -> None:
    assert stock_for_paper(paper) is stock


@BOTH
def test_a_whole_sheet_cannot_be_skipped(stock: LabelStock) -> None:
    check_skip(0, stock=stock)
    check_skip(stock.per_sheet - 1, stock=stock)
    for skip in (-1, stock.per_sheet, 10_000):
        with pytest.raises(InputError, match=f"skip 0 to {stock.per_sheet - 1}"):
            check_skip(skip, stock=stock)
