"""Raw rows out of the bytes of a CSV file, and such bytes out of rows.

Source: RFC 4180: commas, CRLF, quotes around cells that hold a comma, a quote
or a line break, inner quotes doubled.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import TypeAlias

from fraginv.base.rules.problems import Problem, RawRow, TableErrors

Cell: TypeAlias = str | int | Decimal | date | None

WIDE_MARKS = (b"\xff\xfe", b"\xfe\xff")
SAMPLE = 200
NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]+)?", re.ASCII)
# What a spreadsheet takes for the start of a formula.
GUARDED = ("=", "+", "-", "@", "\t", "\r", "\n")
GUARD = "'"
QUOTES = (
    "the line cannot be read: a quote is missing or one too many. A cell that holds a quote "
    "stands in quotes, and the inner quote is doubled."
)


def csv_rows(data: bytes) -> Iterator[RawRow]:
    """Yield the rows of a CSV file, the headings first.

    Raises: TableErrors if it is not UTF-8 text or its quotes do not fit.
    """
    reader = csv.reader(io.StringIO(csv_text(data), newline=""), strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            raise TableErrors([Problem(line, "", QUOTES)]) from error
        yield RawRow(line, cells)
        line = reader.line_num + 1


def csv_text(data: bytes) -> str:
    """Return the text of a CSV file, without a byte order mark.

    Raises: TableErrors if it is UTF-16, holds NUL bytes, or is not UTF-8.
    """
    if is_wide(data):
        raise refused(0, "the file is in UTF-16. Save it again as CSV UTF-8 and load that.")
    if b"\0" in data:
        reason = "the line holds a NUL byte, so this is no text. Save the table again as CSV UTF-8."
        raise refused(line_at(data, data.index(b"\0")), reason)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        reason = (
            "the line is not in UTF-8; it looks like Latin-1 or Windows-1252. "
            "Save the file again as CSV UTF-8 and load that."
        )
        raise refused(line_at(data, error.start), reason) from error


def is_wide(data: bytes) -> bool:
    """Tell whether data look like UTF-16: by their mark, or every other byte is zero."""
    sample = data[:SAMPLE]
    pairs = len(sample) // 2
    every_other = (sample[0::2].count(0), sample[1::2].count(0))
    return data.startswith(WIDE_MARKS) or (pairs > 1 and 2 * max(every_other) > pairs)


def line_at(data: bytes, place: int) -> int:
    """Return the line that a byte stands in, from 1."""
    return data.count(b"\n", 0, place) + 1


def refused(line: int, reason: str) -> TableErrors:
    """Return the error for a file that cannot be read at all."""
    return TableErrors([Problem(line, "", reason)])


def csv_bytes(headings: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a CSV file in UTF-8 without a byte order mark.

    A text that a spreadsheet would take for a formula gets an apostrophe in
    front; plain numbers are left as they are.
    """
    return csv_lines([headings]) + csv_lines(rows)


def csv_lines(rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return lines of a CSV file, as ``csv_bytes`` writes them."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerows([csv_cell(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def csv_cell(cell: Cell) -> str:
    """Return the text of a cell: plain numbers, ISO 8601 days, guarded text."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.isoformat(sep=" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    text = str(cell)
    guarded = text.startswith(GUARDED) and not NUMBER.fullmatch(text)
    return GUARD + text if guarded else text
