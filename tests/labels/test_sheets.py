"""Label sheets as a printer gets them: rendered, read back, and measured."""

import random

import pytest

from fraginv.base.paper import paper_width, render_pdf
from fraginv.base.rules.codes import address, draw_code, read_code, show_code
from fraginv.labels.rules.fitting import FRAME_MM, fit_symbol
from fraginv.labels.rules.layout import Layout, lay_out
from fraginv.labels.rules.parts import Label
from fraginv.labels.rules.stocks import A4, LETTER, STOCKS, LabelStock
from tests.base.papers import (
    images_in,
    page_sizes_mm,
    symbols_of,
    texts_of,
    words_of,
)

HOST = "REEF.TEST"
BOTH = pytest.mark.parametrize("stock", STOCKS.values(), ids=STOCKS)
DOTS_PER_MM = 600 / 25.4


def codes(count: int, *, seed: int = 7) -> list[str]:
    """Draw codes, the same ones every time."""
    chance = random.Random(seed)
    return [draw_code(chance.choice) for _ in range(count)]


def labels_of_all_sorts(count: int) -> list[Label]:
    """Return labels with short, long, dangerous and missing words in turn."""
    sorts = [
        {"title": "Harbour Lantern", "detail": "Cut Nov 12, 2026"},
        {
            "title": "Ember Tide of the Long Winter Reef with a name that never ends",
            "detail": "Cut Nov 12, 2026 · 30 pieces",
            "caution": "PALYTOXIN · gloves",
        },
        {"detail": "Roll 3, no. 12", "to_write_on": True},
        {"title": "Line\nbreak\u2028& <b>tags</b>", "detail": "Cut\x0bNov 12"},
        {},
    ]
    return [
        Label(code=code, **sorts[index % len(sorts)])  # type: ignore[arg-type]
        for index, code in enumerate(codes(count))
    ]


def laid_out(labels: list[Label], *, stock: LabelStock, skip: int = 0, host: str = HOST) -> Layout:
    """Lay labels out as the project does."""
    return lay_out(
        labels,
        stock=stock,
        skip=skip,
        host=host,
        measure=lambda text, weight: paper_width(text, weight=weight),
    )


def pdf_of(layout: Layout) -> bytes:
    """Render a layout as the project does."""
    return render_pdf(
        "labels/paper_labels.html",
        {"layout": layout},
        finisher=lambda page: layout.sheets[page].drawing,
        tagged=False,
    )


@BOTH
@pytest.mark.parametrize(
    ("count", "skip"),
    [(1, 0), (1, 23), (23, 0), (24, 0), (30, 0), (31, 0), (31, 5), (124, 17)],
)
def test_every_symbol_of_every_sheet_is_read_back(stock: LabelStock, count: int, skip: int) -> None:
    labels = labels_of_all_sorts(count)

    pages = symbols_of(pdf_of(laid_out(labels, stock=stock, skip=skip)))

    asked = [address(HOST, label.code) for label in labels]
    first = stock.per_sheet - skip
    starts = [0, *range(first, count, stock.per_sheet), count]
    assert len(pages) == len(starts) - 1
    for page, start, end in zip(pages, starts, starts[1:], strict=False):
        assert sorted(one.text for one in page) == sorted(asked[start:end])
    assert {read_code(one.text) for page in pages for one in page} == {
        label.code for label in labels
    }


@BOTH
@pytest.mark.parametrize("length", [4, 12, 30, 50, 60])
def test_longer_hosts_are_read_back_too(stock: LabelStock, length: int) -> None:
    host = "A" * length
    labels = labels_of_all_sorts(stock.per_sheet)
    (page,) = symbols_of(pdf_of(laid_out(labels, stock=stock, host=host)))
    assert {one.text for one in page} == {address(host, label.code) for label in labels}
    assert {one.version for one in page} == {fit_symbol(stock, host=host).version}


@BOTH
@pytest.mark.parametrize("skip", [0, 7])
def test_symbols_lie_where_the_stock_says_to_a_tenth_of_a_millimetre(
    stock: LabelStock, skip: int
) -> None:
    layout = laid_out(labels_of_all_sorts(stock.per_sheet - skip), stock=stock, skip=skip)
    (page,) = symbols_of(pdf_of(layout), dpi=600)
    fit = layout.fit
    for index, code in enumerate(codes(stock.per_sheet - skip)):
        place = stock.place(skip + index)
        (found,) = [one for one in page if one.text.endswith(code)]
        inner = FRAME_MM + 4 * fit.module_mm
        left = place.x_mm + 0.6 + inner
        top = place.y_mm + (stock.height_mm - fit.box_mm) / 2 + inner
        xs = [(x + 0.5) / DOTS_PER_MM for x, _ in found.corners]
        ys = [(y + 0.5) / DOTS_PER_MM for _, y in found.corners]
        assert xs == pytest.approx(
            [left, left + fit.symbol_mm, left + fit.symbol_mm, left], abs=0.1
        )
        assert ys == pytest.approx([top, top, top + fit.symbol_mm, top + fit.symbol_mm], abs=0.1)


@BOTH
def test_the_words_of_each_label_stand_on_it(stock: LabelStock) -> None:
    layout = laid_out(labels_of_all_sorts(stock.per_sheet), stock=stock)
    found = {words.text: words for words in words_of(pdf_of(layout)) if words.text.count("-") == 2}
    for index, code in enumerate(codes(stock.per_sheet)):
        place = stock.place(index)
        words = found[show_code(code)]
        assert place.x_mm + layout.fit.box_mm < words.x_mm < place.x_mm + stock.width_mm
        assert place.y_mm < words.y_mm < place.y_mm + stock.height_mm / 2
        assert words.size_pt >= 15


@BOTH
def test_no_line_leaves_its_label(stock: LabelStock) -> None:
    layout = laid_out(labels_of_all_sorts(stock.per_sheet), stock=stock)
    for block in layout.sheets[0].blocks:
        assert block.text.count("\n") < stock.rows
    rows = [stock.place(index * stock.columns).y_mm for index in range(stock.rows)]
    for words in words_of(pdf_of(layout)):
        baseline = words.y_mm
        (row,) = [y for y in rows if y <= baseline < y + stock.pitch_y_mm]
        assert baseline <= row + stock.height_mm - 0.6


def test_code_variety_date_number_and_caution_can_be_read() -> None:
    label = Label(
        code="7K3Q9FN",
        title="Ember Tide",
        detail="Cut Nov 12, 2026 · 30 pieces",
        caution="PALYTOXIN · gloves",
    )
    (text,) = texts_of(pdf_of(laid_out([label], stock=LETTER)))
    for wanted in ("7K3-Q9F-N", "Ember Tide", "Cut Nov 12, 2026 · 30 pieces", "PALYTOXIN · gloves"):
        assert wanted in text


def test_words_that_could_break_the_sheet_do_not() -> None:
    label = Label(code="7K3Q9FN", title="a\n\n\nb\x85c\u2029<div>&amp;", detail="d\r\ne\x00f")
    other = Label(code="0000002", title="next")
    (text,) = texts_of(pdf_of(laid_out([label, other], stock=A4)))
    assert "a b c <div>&amp;" in text.replace("\n", " ")
    assert "d ef" in text


@BOTH
def test_symbols_are_vectors_and_pages_true_to_size(stock: LabelStock) -> None:
    pdf = pdf_of(laid_out(labels_of_all_sorts(40), stock=stock))
    assert images_in(pdf) == 0
    assert set(page_sizes_mm(pdf)) == {(stock.page_width_mm, stock.page_height_mm)}


def test_the_same_labels_give_the_same_bytes() -> None:
    labels = labels_of_all_sorts(31)
    one = pdf_of(laid_out(labels, stock=LETTER))
    assert one == pdf_of(laid_out(labels, stock=LETTER))


def test_skipped_places_stay_empty() -> None:
    layout = laid_out(labels_of_all_sorts(2), stock=LETTER, skip=28)
    assert len(layout.sheets) == 1
    words = words_of(pdf_of(layout))
    assert min(word.y_mm for word in words) > LETTER.place(27).y_mm
