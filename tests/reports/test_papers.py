"""The month as a PDF, a CSV file and a workbook, read back."""

import csv
from collections.abc import Iterator
from datetime import date
from io import BytesIO, StringIO

import openpyxl
import pytest
from pypdf import PdfReader

from fraginv.base.models import Organisation
from fraginv.reports.queries.months import month_figures
from fraginv.reports.queries.papers import month_csv, month_pdf, month_xlsx
from fraginv.reports.rules.rows import HEADINGS, month_rows
from fraginv.taxa.rules import GROUPS
from fraginv.trade.rules.words import Channel
from tests.base.papers import page_sizes_mm, texts_of
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.reports.rows import NOVEMBER, bill, november
from tests.trade.rows import Shop, open_shop


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with november():
        made = open_shop(people)
        made.sell(made.priced_lot(30, price=1_000), 8)
        bill(made, 64_500)
        yield made


def page(month: int = NOVEMBER, **fields: str) -> str:
    """Return the text of the month's one page."""
    (text,) = texts_of(month_pdf(month, **fields))
    return " ".join(text.split())


def test_the_board_reads_the_share_in_words(shop: Shop) -> None:
    text = page()
    # 8,000 / 64,500 = 0.12403…
    for words in (
        "November 2026",
        "The frags carried 12.4% of the display's running costs.",
        "so far: Nov 16, 2026",
        "$80.00",
        "$645.00",
        "-$565.00",
        "Sales tax collected $5.00",
        "Electricity",
        "SPS",
        "22 pieces",
        "Page 1 of 1",
    ):
        assert words in text


def test_a_month_that_is_over_says_no_so_far(shop: Shop) -> None:
    bill(shop, 10_000, day=date(2026, 10, 3))
    text = page(202610)
    assert "October 2026" in text
    assert "so far" not in text
    assert "Ready at the end" in text


def test_what_was_given_in_kind_stands_beside_each_cost(shop: Shop) -> None:
    bill(shop, 9_900, kind="lamp", settled="in_kind")
    bill(shop, 4_210, kind="plugs", serves="frags", settled="in_kind")
    text = page()
    assert "In kind, to the display $99.00" in text
    assert "In kind, for the frags $42.10" in text


def test_without_costs_the_page_says_so(shop: Shop) -> None:
    text = page(202603)
    assert "No running costs are entered for this month, so no share can be shown." in text
    assert "carried 0" not in text


def test_more_than_all_and_less_than_nothing_are_said_in_words(shop: Shop) -> None:
    bill(shop, 100, day=date(2026, 9, 3))
    assert "The frags carried 0% of" in page(202609)
    assert "Cash basis" in page(basis="cash")


def test_a_full_month_still_fits_on_one_page(shop: Shop) -> None:
    for number in range(25):
        kind = f"kind of cost number {number} with a name that goes on"
        bill(shop, 10**6 + number, kind=kind)
        bill(shop, 10**6 + number, kind=kind, serves="frags")
    for channel in Channel:
        for group in GROUPS:
            variety = make_variety(shop.manager, group=group)
            colony = make_colony(shop.manager, variety=variety)
            shop.sell(shop.priced_lot(3, price=10**5, colony=colony), 2, channel=channel)
    text = page()
    assert "3 others" in text
    assert "19 others" in text
    assert "22 others" in text
    assert page_sizes_mm(month_pdf(NOVEMBER)) == [(215.9, 279.4)]
    Organisation.objects.update(paper="a4")
    assert page_sizes_mm(month_pdf(NOVEMBER)) == [(210.0, 297.0)]


def test_the_same_month_is_the_same_bytes_and_says_what_it_is(shop: Shop) -> None:
    first = month_pdf(NOVEMBER)
    assert month_pdf(NOVEMBER) == first
    reader = PdfReader(BytesIO(first))
    assert reader.metadata is not None
    assert reader.metadata.title == "November 2026: what the frags carried"
    assert reader.trailer["/Root"].get_object()["/StructTreeRoot"]  # type: ignore[index]


def test_the_csv_holds_every_row(shop: Shop) -> None:
    figures = month_figures(NOVEMBER)
    rows = list(csv.reader(StringIO(month_csv(figures).decode("utf-8-sig"))))
    assert rows[0] == list(HEADINGS)
    assert rows[1:] == [[str(cell) for cell in row] for row in month_rows(figures)]
    assert ["2026-11", "sales", "income", "net", "80.00", "USD"] in rows
    assert ["2026-11", "sales", "share carried", "before direct costs", "0.1240"] in [
        row[:5] for row in rows
    ]


def test_the_workbook_holds_numbers(shop: Shop) -> None:
    book = openpyxl.load_workbook(BytesIO(month_xlsx(month_figures(NOVEMBER))))
    sheet = book.worksheets[0]
    rows = {(row[2], row[3]): row[4] for row in sheet.iter_rows(values_only=True)}
    assert rows["income", "net"] == 80
    assert rows["running costs by kind", "electricity"] == 645
    assert rows["frags", "sold"] == 8
