"""XLSX workbooks in and out, read back with openpyxl itself."""

import io
import zipfile
from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.chart import BarChart
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from fraginv.base.errors import InputError
from fraginv.base.rules import workbook
from fraginv.base.rules.csv_text import Cell
from fraginv.base.rules.problems import TableErrors, Unfit
from fraginv.base.rules.workbook import xlsx_bytes, xlsx_rows


def made(rows: Sequence[Sequence[Any]], **formats: str) -> bytes:
    """Return a workbook of another maker: plain openpyxl."""
    book = Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    for name, number_format in formats.items():
        sheet[name].number_format = number_format
    return saved(book)


def saved(book: Any) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def changed(data: bytes, part: str, old: bytes, new: bytes) -> bytes:
    """Return a workbook with bytes of one part replaced."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w") as target:
        for name in source.namelist():
            content = source.read(name)
            if name == part:
                assert old in content
                content = content.replace(old, new)
            target.writestr(name, content)
    return out.getvalue()


def cells(data: bytes) -> list[list[str | Unfit]]:
    return [list(row.cells) for row in xlsx_rows(data)]


SHEET = "xl/worksheets/sheet1.xml"


def test_real_days_and_numbers_become_the_texts_of_a_csv_file() -> None:
    row = [date(2026, 11, 25), datetime(2026, 11, 25), datetime(2026, 11, 25, 9, 30)]  # noqa: DTZ001 - sheets know no zone
    numbers = [12.5, 12.1, 0.1 + 0.2, 3, 5.0, 1e-7, 1e20, -0.0625, True, None, "text"]
    assert cells(made([row, numbers])) == [
        ["2026-11-25", "2026-11-25", "2026-11-25 09:30:00"],
        ["12.5", "12.1", "0.3", "3", "5", "0.0000001", "100000000000000000000", "-0.0625"]
        + ["True", "", "text"],
    ]


def test_a_day_kept_as_iso_text_is_read() -> None:
    # ECMA-376 part 1, cell type "d": an ISO 8601 day instead of a number.
    held = b't="inlineStr"><is><t>x</t></is>'
    data = changed(made([["x"]]), SHEET, held, b't="d"><v>2026-11-25</v>')
    assert cells(data) == [["2026-11-25"]]


def test_short_rows_are_filled_up_to_the_headings() -> None:
    assert cells(made([["a", "b", "c"], ["1"], [], [None, "2"]])) == [
        ["a", "b", "c"],
        ["1", "", ""],
        ["", "", ""],
        ["", "2", ""],
    ]


@pytest.mark.parametrize("formula", ["=1+1", "=SUM(A1:A2)", "=A1"])
def test_a_formula_is_an_unfit_cell_that_is_named(formula: str) -> None:
    read = cells(made([["a", "b"], ["1", formula]]))
    assert read[1] == ["1", Unfit("cell B2 holds a formula; put its value there instead.")]


def test_an_error_is_an_unfit_cell_that_is_named() -> None:
    read = cells(made([["a", "b"], ["#DIV/0!", "1"]]))
    assert read[1] == [Unfit("cell A2 holds an error (#DIV/0!); put a value there."), "1"]


def test_a_day_outside_the_calendar_is_an_unfit_cell() -> None:
    read = cells(made([["day"], [99999999]], A2="yyyy-mm-dd"))
    assert read[1] == [Unfit("cell A2 holds an error (#VALUE!); put a value there.")]


def test_a_sheet_that_states_a_wrong_size_loses_no_row() -> None:
    data = made([["a", "b"], ["1", "2"], ["3", "4"]])
    wrong = changed(data, SHEET, b'<dimension ref="A1:B3"', b'<dimension ref="A1"')
    assert cells(wrong) == cells(data) == [["a", "b"], ["1", "2"], ["3", "4"]]


def test_a_sheet_wider_or_longer_than_any_table_is_refused() -> None:
    with pytest.raises(TableErrors, match="line 1: the sheet has more than 1048576 rows or 1000"):
        cells(made([list(range(1001))]))
    far = changed(made([["a"], ["1"]]), SHEET, b'<row r="2"><c r="A2"', b'<row r="9999999"><c')
    with pytest.raises(TableErrors, match="line 1048577: the sheet has more than 1048576 rows"):
        cells(far)


def zipped(**parts: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [
        b"PK\x03\x04 and nothing of a workbook",
        zipped(readme="no workbook"),
        made([["a"]])[:-200],
        changed(made([["a"]]), SHEET, b"</sheetData>", b"</sheet"),
        changed(made([["a"]]), SHEET, b't="inlineStr"><is><t>a</t></is>', b't="s"><v>77</v>'),
    ],
    ids=["no archive", "no workbook", "cut short", "broken part", "missing string"],
)
def test_a_broken_workbook_is_refused(data: bytes) -> None:
    with pytest.raises(TableErrors, match=r"no workbook that can be read\. Save it again as XLSX"):
        cells(data)


def test_a_workbook_that_unpacks_too_large_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    data = made([["a"], ["1"]])
    assert cells(data) == [["a"], ["1"]]
    monkeypatch.setattr(workbook, "MOST_BYTES_UNPACKED", 1000)
    with pytest.raises(TableErrors, match="unpacks to more than 512 MB"):
        cells(data)


def test_a_sheet_of_far_more_cells_than_a_table_has_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    data = made([["a", "b"], ["1", "2"], ["3", "4"]])
    monkeypatch.setattr(workbook, "MOST_CELLS", 6)
    assert len(cells(data)) == 3
    monkeypatch.setattr(workbook, "MOST_CELLS", 5)
    with pytest.raises(TableErrors, match="line 3: the sheet has more than 5,000,000 cells"):
        cells(data)


def test_a_workbook_of_charts_alone_is_refused() -> None:
    book = Workbook()
    book.create_chartsheet("Chart").add_chart(BarChart())
    book.remove(book.active)
    with pytest.raises(TableErrors, match="the workbook has no sheet with cells"):
        cells(saved(book))


def test_a_workbook_with_an_empty_chart_sheet_is_refused() -> None:
    book = Workbook()
    book.create_chartsheet("Chart")
    with pytest.raises(TableErrors, match="no workbook that can be read"):
        cells(saved(book))


def test_merged_cells_are_refused_with_their_places() -> None:
    book = Workbook()
    sheet = book.active
    for row in (["a", "b"], ["1", "2"], ["3", "<mergeCell ref='Z9:Z10'"]):
        sheet.append(row)
    assert len(cells(saved(book))) == 3
    sheet.merge_cells("B3:C3")
    sheet.merge_cells("A2:A3")
    with pytest.raises(TableErrors) as caught:
        cells(saved(book))
    assert [(one.line, one.reason.partition(",")[0]) for one in caught.value.problems] == [
        (2, "the cells A2 to A3 are merged"),
        (3, "the cells B3 to C3 are merged"),
    ]


def test_a_hidden_sheet_is_passed_over() -> None:
    book = Workbook()
    book.active.append(["hidden"])
    book.active.sheet_state = "hidden"
    book.create_sheet("Shown").append(["shown"])
    assert cells(saved(book)) == [["shown"]]
    data = changed(saved(book), "xl/workbook.xml", b'state="visible"', b'state="veryHidden"')
    with pytest.raises(TableErrors, match="every sheet of the workbook is hidden"):
        cells(data)


def test_a_day_in_the_calendar_of_1904_is_that_day() -> None:
    # ECMA-376 part 1, 18.17.4.1: in the 1904 date system 1904-01-01 is day 0.
    book = Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active.append([date(2026, 11, 25)])
    assert cells(saved(book)) == [["2026-11-25"]]


def test_xlsx_bytes_have_real_types_and_a_frozen_heading() -> None:
    rows: list[list[Cell]] = [
        ["Ann", date(2026, 11, 25), Decimal("12.50"), 3, None],
        ["x" * 90, datetime(2026, 11, 25, 9, 30, tzinfo=UTC), Decimal("7"), -3, ""],
    ]
    data = xlsx_bytes(["name", "day", "amount", "n", "note"], rows, title="Month: [2026/11]")
    sheet = load_workbook(io.BytesIO(data)).active
    assert sheet.title == "Month   2026 11 "
    assert sheet.freeze_panes == "A2"
    assert [cell.font.bold for cell in sheet[1]] == [True] * 5
    assert [cell.value for cell in sheet[2]] == ["Ann", datetime(2026, 11, 25), 12.5, 3, None]  # noqa: DTZ001 - as above
    assert [cell.number_format for cell in sheet[2]][1:4] == ["yyyy-mm-dd", "0.00", "General"]
    assert sheet["C3"].number_format == "0"
    assert sheet["B3"].value == "2026-11-25 09:30:00+00:00"
    assert sheet.column_dimensions["A"].width == 62


@pytest.mark.parametrize("text", ["=1+1", "=cmd|'/c calc'!A1", "+1", "-1", "@A1", "#N/A", "0012"])
def test_a_text_never_becomes_a_formula(text: str) -> None:
    data = xlsx_bytes([text], [[text]])
    sheet = load_workbook(io.BytesIO(data)).active
    for cell in (sheet["A1"], sheet["A2"]):
        assert (cell.value, cell.data_type) == (text, "s")
        assert cell.quotePrefix == text.startswith(("=", "+", "-", "@"))
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert b"<f>" not in archive.read(SHEET)


def test_a_text_that_no_cell_can_hold() -> None:
    data = xlsx_bytes(["a"], [["one\x07two"]])
    assert cells(data)[1] == ["one\ufffdtwo"]
    with pytest.raises(InputError, match="A text of 32768 characters does not fit"):
        xlsx_bytes(["a"], [["x" * 32_768]])


def test_what_is_written_is_read_back() -> None:
    rows: list[list[Cell]] = [
        ["Ann", date(2026, 11, 25), Decimal("0.10"), 3],
        ["Bea", None, None, 0],
    ]
    assert cells(xlsx_bytes(["name", "day", "amount", "n"], rows)) == [
        ["name", "day", "amount", "n"],
        ["Ann", "2026-11-25", "0.1", "3"],
        ["Bea", "", "", "0"],
    ]
