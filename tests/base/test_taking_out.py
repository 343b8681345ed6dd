"""Long tables as files, in portions that are read back by other readers than their writer."""

import csv
import io
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from fraginv.base.rules.columns import text_column
from fraginv.base.rules.csv_text import Cell
from fraginv.base.rules.sheet_out import PORTION, sheet_portions
from fraginv.base.tables import read_table
from fraginv.base.taking_out import csv_response, xlsx_response

HEADINGS = ["code", "note", "cut_on", "pieces", "share"]
ROWS: list[list[Cell]] = [
    ["7K3Q9FN", 'a "quoted", note\r\nof two lines', date(2026, 11, 27), 3, Decimal("0.50")],
    ["0000000", "=1+1", date(1899, 5, 1), -4, None],
    ["", "@cmd & <b>", None, 0, Decimal("1E+3")],
]
# A workbook has no zones; openpyxl gives midnight for a day.
DAY = datetime(2026, 11, 27, tzinfo=UTC).replace(tzinfo=None)
FORMULAS = ("=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1", "\r=1", "=cmd|' /C calc'!A0")


def sheet_of(data: bytes) -> Any:
    """Open a workbook by another library."""
    return load_workbook(io.BytesIO(data)).worksheets[0]


def test_csv() -> None:
    """Source: RFC 4180, read back by Python's own reader."""
    response = csv_response(HEADINGS, iter(ROWS), name="frags")
    assert response["Content-Disposition"] == 'attachment; filename="frags.csv"'
    assert response["Cache-Control"] == "private, no-store"
    data = response.getvalue()
    assert data.startswith(b"code,note,cut_on,pieces,share\r\n")
    read = list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
    assert read[1:] == [
        ["7K3Q9FN", 'a "quoted", note\r\nof two lines', "2026-11-27", "3", "0.50"],
        ["0000000", "'=1+1", "1899-05-01", "-4", ""],
        ["", "'@cmd & <b>", "", "0", "1000"],
    ]


def test_workbook() -> None:
    """Source: ECMA-376, read back by openpyxl; XML 1.0, 2.11: a line ends with LF alone."""
    response = xlsx_response(HEADINGS, iter(ROWS), name="frags")
    assert response["Content-Disposition"] == 'attachment; filename="frags.xlsx"'
    sheet = sheet_of(response.getvalue())
    assert (sheet.title, sheet.freeze_panes) == ("frags", "A2")
    assert [[cell.value for cell in row] for row in sheet.iter_rows()] == [
        HEADINGS,
        ["7K3Q9FN", 'a "quoted", note\nof two lines', DAY, 3, 0.5],
        ["0000000", "=1+1", "1899-05-01", -4, None],
        [None, "@cmd & <b>", None, 0, 1000],
    ]
    assert sheet["B3"].data_type == "s"
    assert sheet["C2"].number_format == "yyyy\\-mm\\-dd"
    assert sheet["A1"].font.bold


@pytest.mark.parametrize("text", FORMULAS)
def test_nothing_becomes_a_formula(text: str) -> None:
    """Source: OWASP, CSV injection: the signs by which a cell becomes a formula."""
    line = csv_response(["note"], [[text]], name="x").getvalue().decode().split("\r\n", 1)[1]
    assert line.lstrip('"').startswith("'")
    cell = sheet_of(xlsx_response(["note"], [[text]], name="x").getvalue())["A2"]
    assert (cell.data_type, cell.quotePrefix) == ("s", text[0] in "=+-@")


@given(st.lists(st.tuples(st.text(max_size=40), st.integers(-(2**50), 2**50)), max_size=20))
def test_any_text_and_number_comes_back(rows: list[tuple[str, int]]) -> None:
    data = b"".join(sheet_portions(["text", "number"], rows, title="x"))
    read = [[cell.value for cell in row] for row in sheet_of(data).iter_rows(min_row=2)]
    assert [number for _, number in read] == [number for _, number in rows]
    for (told, _), (text, _) in zip(read, rows, strict=True):
        assert len(told or "") == len(text.replace("\r\n", "\n")) or "\r" in text


def test_our_own_reader_takes_it() -> None:
    rows = [[f"7K3Q{number}", f"note {number}"] for number in range(PORTION + 1)]
    columns = [text_column(name, longest=40) for name in ("code", "note")]
    for response in (csv_response, xlsx_response):
        data = response(["code", "note"], iter(rows), name="frags").getvalue()
        read = read_table(data, columns=columns)
        assert [[row["code"], row["note"]] for row in read] == rows


def test_rows_are_read_while_the_file_is_sent() -> None:
    read = 0

    def rows() -> Iterator[list[Cell]]:
        nonlocal read
        for number in range(20 * PORTION):
            read += 1
            yield [number, "x" * 100]

    response = xlsx_response(["number", "text"], rows(), name="long")
    assert read == 0
    tracemalloc.start()
    total = 0
    for at, portion in enumerate(response):
        assert read <= (at + 1) * PORTION
        total += len(portion)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert read == 20 * PORTION
    assert peak < 3_000_000
