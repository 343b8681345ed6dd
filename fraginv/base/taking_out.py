"""Answering with a long table as a file, sent in portions."""

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import Final

from django.http import StreamingHttpResponse

from fraginv.base.rules.csv_text import Cell, csv_lines
from fraginv.base.rules.sheet_out import in_portions, sheet_portions

CSV: Final = "text/csv; charset=utf-8"
XLSX: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def csv_response(
    headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, name: str
) -> StreamingHttpResponse:
    """Answer with a CSV file to keep; its rows are read while it is sent."""
    portions = chain([csv_lines([headings])], map(csv_lines, in_portions(rows)))
    return to_keep(portions, kind=CSV, name=f"{name}.csv")


def xlsx_response(
    headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, name: str
) -> StreamingHttpResponse:
    """Answer with a workbook to keep; its rows are read while it is sent."""
    portions = sheet_portions(headings, rows, title=name)
    return to_keep(portions, kind=XLSX, name=f"{name}.xlsx")


def to_keep(portions: Iterator[bytes], *, kind: str, name: str) -> StreamingHttpResponse:
    """Answer with a file in portions, under a name to keep it by."""
    response = StreamingHttpResponse(portions, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
