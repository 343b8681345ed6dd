"""Raw rows out of the bytes of an XLSX workbook, and such bytes out of rows."""

import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any
from xml.etree.ElementTree import ParseError

from openpyxl import Workbook, load_workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from fraginv.base.errors import InputError
from fraginv.base.rules.csv_text import Cell, refused
from fraginv.base.rules.merged import merged_cells
from fraginv.base.rules.problems import RawRow, TableErrors, Unfit

MARK = b"PK\x03\x04"
OLD_MARK = b"\xd0\xcf\x11\xe0"
MOST_BYTES_UNPACKED = 512 * 1024 * 1024
MOST_COLUMNS = 1_000
LAST_ROW = 1_048_576
# A table of fifty thousand rows has far fewer; a sheet of more is made to keep a machine busy.
MOST_CELLS = 5_000_000
LONGEST_CELL = 32_767
WIDEST = 60
# Spreadsheets keep fifteen digits; what stands behind them is noise.
DIGITS = ".15g"
BAD_SHEET_NAME = re.compile(r"[\[\]:*?/\\]")
UNREADABLE = "the file is no workbook that can be read. Save it again as XLSX or as CSV UTF-8."
TOO_MANY = (
    "the sheet has more than 5,000,000 cells, most of them empty. Copy the table alone into a new "
    "workbook, or save it as CSV UTF-8."
)
# What openpyxl raises, by turns, for a broken file.
BROKEN = (
    zipfile.BadZipFile,
    ParseError,
    AttributeError,
    EOFError,
    LookupError,
    TypeError,
    ValueError,
)


def xlsx_rows(data: bytes) -> Iterator[RawRow]:
    """Yield the rows of a workbook's first sheet that is not hidden, the headings first.

    Raises: TableErrors if it is no workbook, far too large, or has merged cells.
    """
    try:
        refuse_bomb(data)
        with warnings.catch_warnings():
            # openpyxl warns of styles and odd dates; the cells tell what matters.
            warnings.simplefilter("ignore", UserWarning)
            yield from sheet_rows(data)
    except BROKEN as error:
        raise refused(0, UNREADABLE) from error


def refuse_bomb(data: bytes) -> None:
    """Refuse a file that unpacks to more than a table can be.

    Raises: TableErrors.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = sum(item.file_size for item in archive.infolist())
    if size > MOST_BYTES_UNPACKED:
        raise refused(0, "the workbook unpacks to more than 512 MB. Save the sheet as CSV UTF-8.")


def sheet_rows(data: bytes) -> Iterator[RawRow]:
    """Yield the rows of the first sheet that is not hidden; a formula is an unfit cell."""
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    with closing(book):
        sheet = shown_sheet(book)
        refuse_merged(data, part=sheet._worksheet_path)
        # The size that a sheet states may be wrong, and rows beyond it would be lost.
        sheet.reset_dimensions()
        width = many = 0
        for line, cells in enumerate(sheet.iter_rows(), start=1):
            if line > LAST_ROW or len(cells) > MOST_COLUMNS:
                raise refused(
                    line, f"the sheet has more than {LAST_ROW} rows or {MOST_COLUMNS} columns."
                )
            many += len(cells)
            if many > MOST_CELLS:
                raise refused(line, TOO_MANY)
            texts = [read_cell(cell, line, place) for place, cell in enumerate(cells, start=1)]
            width = width or len(texts)
            # A sheet leaves out the empty cells at the end of a row; a CSV file does not.
            yield RawRow(line, texts + [""] * (width - len(texts)))


def shown_sheet(book: Any) -> Any:
    """Return the first sheet of a workbook that is not hidden.

    Raises: TableErrors where there is none.
    """
    if not book.worksheets:
        raise refused(0, "the workbook has no sheet with cells.")
    for sheet in book.worksheets:
        if sheet.sheet_state == "visible":
            return sheet
    raise refused(0, "every sheet of the workbook is hidden. Show the one that holds the table.")


def refuse_merged(data: bytes, *, part: str) -> None:
    """Refuse a sheet in which cells are merged.

    Raises: TableErrors naming each range.
    """
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        problems = merged_cells(archive, part)
    if problems:
        raise TableErrors(problems)


def read_cell(cell: Any, line: int, place: int) -> str | Unfit:
    """Return a cell's value as the text that a CSV file would have."""
    name = f"{get_column_letter(place)}{line}"
    if cell.data_type == "f":
        return Unfit(f"cell {name} holds a formula; put its value there instead.")
    if cell.data_type == "e":
        return Unfit(f"cell {name} holds an error ({cell.value}); put a value there.")
    return plain_text(cell.value)


def plain_text(value: object) -> str:
    """Write a cell's value plainly: days in ISO 8601, numbers without an exponent."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return f"{Decimal(format(value, DIGITS)):f}"
    return str(value)


def xlsx_bytes(
    headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, title: str = "Table"
) -> bytes:
    """Return a workbook of one sheet: frozen headings, texts that are never formulas.

    Raises: InputError if a text is longer than a cell can hold.
    """
    body = [list(row) for row in rows]
    refuse_long([headings, *body])
    book = Workbook(write_only=True)
    sheet = book.create_sheet(BAD_SHEET_NAME.sub(" ", title)[:31])
    sheet.freeze_panes = "A2"
    for place, width in enumerate(widths([list(headings), *body]), start=1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    bold = Font(bold=True)
    heads = [written_cell(sheet, heading) for heading in headings]
    for head in heads:
        head.font = bold
    sheet.append(heads)
    for row in body:
        sheet.append([written_cell(sheet, cell) for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def refuse_long(rows: Iterable[Sequence[Cell]]) -> None:
    """Refuse texts that a cell would cut off.

    Raises: InputError.
    """
    for row in rows:
        for cell in row:
            if isinstance(cell, str) and len(cell) > LONGEST_CELL:
                raise InputError(
                    f"A text of {len(cell)} characters does not fit a cell of a workbook."
                )


def widths(rows: Sequence[Sequence[Cell]]) -> list[int]:
    """Return a width for each column, in characters."""
    longest: dict[int, int] = {}
    for row in rows:
        for place, cell in enumerate(row):
            longest[place] = max(longest.get(place, 0), len(str(cell)))
    return [min(longest[place], WIDEST) + 2 for place in sorted(longest)]


def written_cell(sheet: Any, value: Cell) -> Any:
    """Return a cell of the right type, with the decimals of a Decimal kept."""
    if isinstance(value, datetime):
        value = value.isoformat(sep=" ")
    if isinstance(value, str):
        return text_cell(sheet, value)
    cell = WriteOnlyCell(sheet, value=value)
    if isinstance(value, date):
        cell.number_format = "yyyy-mm-dd"
    if isinstance(value, Decimal):
        places = max(0, -int(value.as_tuple().exponent))
        cell.number_format = f"0.{'0' * places}" if places else "0"
    return cell


def text_cell(sheet: Any, text: str) -> Any:
    """Return a cell that stays text, whatever it begins with and however it is edited."""
    cell = WriteOnlyCell(sheet, value=ILLEGAL_CHARACTERS_RE.sub("\N{REPLACEMENT CHARACTER}", text))
    cell.data_type = "s"
    cell.quotePrefix = text.startswith(("=", "+", "-", "@"))
    return cell
