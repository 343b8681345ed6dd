"""Tables in and out: CSV and XLSX files with stated columns."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from fraginv.base.errors import InputError
from fraginv.base.rules.columns import Column
from fraginv.base.rules.csv_text import Cell, csv_bytes, csv_rows, refused
from fraginv.base.rules.problems import Problem, RawRow, TableErrors, Unfit
from fraginv.base.rules.typed_days import DayOrder, read_day
from fraginv.base.rules.workbook import MARK, OLD_MARK, xlsx_bytes, xlsx_rows

__all__ = ["Cell", "Column", "Problem", "Row", "TableErrors"]

MOST_ROWS = 50_000
MOST_BYTES = 64 * 1024 * 1024
SEPARATORS = {";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table that was read: its line, and a value for every column."""

    line: int
    values: Mapping[str, Any]

    def __getitem__(self, name: str) -> Any:
        return self.values[name]


class PartlyRead(TableErrors):
    """Some cells cannot be read; ``rows`` are those of which all that must be there can.

    A cell that cannot be read counts as an empty one there, so that the rest of its row
    can be looked at too.
    """

    def __init__(self, problems: Sequence[Problem], rows: Sequence[Row]) -> None:
        super().__init__(problems)
        self.rows = rows


def read_table(
    source: Path | str | bytes,
    *,
    columns: Sequence[Column],
    limit: int = MOST_ROWS,
    days: DayOrder = DayOrder.YEAR_FIRST,
) -> list[Row]:
    """Read a CSV (UTF-8) or XLSX table whose first line holds the headings.

    Args: ``source`` a path, or the bytes of a file; ``columns`` in any order in
    the file, those that are not required may be missing; ``limit`` of rows;
    ``days`` says in which order days are written that are not in ISO 8601.
    Raises: TableErrors with every problem of the headings, or else PartlyRead with every
        problem of all rows.
    """
    raw = raw_rows(source if isinstance(source, bytes) else file_bytes(Path(source)))
    heading_row = next(raw, None)
    if heading_row is None or heading_row.is_blank():
        needed = [column.name for column in columns if column.required]
        names = ", ".join(needed or [column.name for column in columns])
        raise refused(1, f"the table is empty; its first line must hold the headings {names}.")
    places = column_places(heading_row, columns)
    columns = [in_order(column, days) for column in columns]
    rows: list[Row] = []
    problems: list[Problem] = []
    for row in limited(raw, limit):
        values = read_row(row, places, columns, problems)
        if values is not None:
            rows.append(Row(row.line, values))
    if problems:
        raise PartlyRead(problems, rows)
    if not rows:
        raise refused(1, "the table has no rows under its headings.")
    return rows


def in_order(column: Column, days: DayOrder) -> Column:
    """Return a column that reads days in the order in which a table writes them."""
    return replace(column, read=partial(read_day, order=days)) if column.is_day else column


def file_bytes(path: Path) -> bytes:
    """Return what stands in a file.

    Raises: InputError if it cannot be read or is larger than a table can be.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(f"{path} is larger than 64 MB; split the table into several files.")
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}.") from error


def raw_rows(data: bytes) -> Iterator[RawRow]:
    """Return the raw rows of a file, told by its first bytes from one kind or the other.

    Raises: TableErrors if it is an old or locked workbook.
    """
    if data.startswith(OLD_MARK):
        reason = (
            "the file is a workbook of the old kind, or locked with a password. "
            "Save it again as XLSX without a password, or as CSV UTF-8."
        )
        raise refused(0, reason)
    return xlsx_rows(data) if data.startswith(MARK) else csv_rows(data)


def limited(raw: Iterable[RawRow], limit: int) -> Iterator[RawRow]:
    """Yield the rows that hold something, up to the limit.

    Raises: TableErrors if there are more.
    """
    count = 0
    for row in raw:
        if row.is_blank():
            continue
        count += 1
        if count > limit:
            reason = f"the table has more than {limit:,} rows; split it into several files."
            raise refused(row.line, reason)
        yield row


def column_places(row: RawRow, columns: Sequence[Column]) -> dict[str, int]:
    """Return where each column stands, by its name.

    Raises: TableErrors naming every heading that is unknown, missing or twice there.
    """
    cells = ["" if isinstance(cell, Unfit) else cell for cell in row.cells]
    refuse_other_separators(row.line, cells)
    headings = [plain_heading(cell) for cell in cells]
    known = [column.name for column in columns]
    places: dict[str, int] = {}
    problems: list[Problem] = []
    for place, heading in enumerate(headings):
        if heading in places:
            problems.append(Problem(row.line, heading, "the heading is there twice."))
        elif heading in known:
            places[heading] = place
        elif heading or any(headings[place:]):
            shown = heading or f"the heading of column {place + 1}"
            reason = f"not a column of this table; its columns are {', '.join(known)}."
            problems.append(Problem(row.line, shown, reason))
    problems += [
        Problem(row.line, column.name, "the column is missing.")
        for column in columns
        if column.required and column.name not in places
    ]
    if problems:
        raise TableErrors(problems)
    return places


def plain_heading(cell: str) -> str:
    """Return a heading as columns are named: *Cut on*, *cut-on* and *CUT_ON* are *cut_on*."""
    return "_".join(cell.lower().replace("_", " ").replace("-", " ").split())


def refuse_other_separators(line: int, cells: Sequence[str]) -> None:
    """Refuse a file whose cells are set apart by something else than commas.

    Raises: TableErrors.
    """
    for separator, name in SEPARATORS.items():
        if len(cells) == 1 and separator in cells[0]:
            reason = f"the cells are separated by {name}; save the table with commas between them."
            raise refused(line, reason)


def read_row(
    row: RawRow,
    places: Mapping[str, int],
    columns: Sequence[Column],
    problems: list[Problem],
) -> dict[str, Any] | None:
    """Return the values of a row, and add to ``problems`` what is wrong with it.

    Returns: None where something that must be there cannot be read.
    """
    width = max(places.values()) + 1
    many = len(row.cells)
    if many < width or not RawRow(row.line, row.cells[width:]).is_blank():
        reason = f"the line has {many} cells, but there are {width} headings; check its commas."
        problems.append(Problem(row.line, "", reason))
        return None
    values: dict[str, Any] = {}
    lacking = False
    for column in columns:
        place = places.get(column.name)
        cell = row.cells[place] if place is not None and place < len(row.cells) else ""
        try:
            values[column.name] = read_value(cell, column)
        except InputError as error:
            problems.append(Problem(row.line, column.name, error.message))
            values[column.name] = column.empty
            lacking = lacking or column.filled
    return None if lacking else values


def read_value(cell: str | Unfit, column: Column) -> object:
    """Return the value of a cell in a column.

    Raises: InputError saying what is wrong with it.
    """
    if isinstance(cell, Unfit):
        raise InputError(cell.reason)
    text = cell.strip()
    if text:
        return column.read(text)
    if column.filled:
        raise InputError(f"the cell is empty; it takes {column.hint}.")
    return column.empty


def write_csv(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a CSV file: UTF-8, CRLF, texts that look like formulas guarded."""
    return csv_bytes(headings, rows)


def write_xlsx(
    headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, title: str = "Table"
) -> bytes:
    """Return an XLSX workbook: frozen headings, texts that are never formulas.

    Raises: InputError if a text is longer than a cell can hold.
    """
    return xlsx_bytes(headings, rows, title=title)
