"""A workbook of one sheet, written in portions while it is sent.

What a table in memory is written with stands in ``workbook``; this is for long ones,
of which no more than a portion is held at a time.
Source: ECMA-376, Office Open XML, parts 1 (SpreadsheetML, sections 18.3 and 18.8) and 2
(packages); texts stand in the cells themselves (18.3.1.53), so that they are never formulas.
"""

import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Final, TypeVar
from xml.sax.saxutils import escape

from fraginv.base.rules.csv_text import Cell

T = TypeVar("T")
HEAD: Final = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
LINKS: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE: Final = "http://schemas.openxmlformats.org/package/2006"
SHEETS: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml"
PORTION: Final = 500
LONGEST_CELL: Final = 32_767
PLAIN, BOLD, DAY, QUOTED = range(4)
# What stays a text when somebody edits the cell.
LIKE_FORMULAS: Final = ("=", "+", "-", "@")
# Serial numbers of days before March 1900 are one too many in some programs.
FIRST_DAY: Final = date(1900, 3, 1)
DAY_ZERO: Final = date(1899, 12, 30)
# XML 1.0, section 2.2: characters that no document may hold.
UNFIT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
BAD_NAME: Final = re.compile(r"[\[\]:*?/\\]")

FIXED: Final[dict[str, str]] = {
    "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types">'
    '<Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Override PartName="/xl/workbook.xml" ContentType="{SHEETS}.sheet.main+xml"/>'
    f'<Override PartName="/xl/styles.xml" ContentType="{SHEETS}.styles+xml"/>'
    f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{SHEETS}.worksheet+xml"/>'
    "</Types>",
    "_rels/.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Id="rId1" Type="{LINKS}/officeDocument" Target="xl/workbook.xml"/>'
    "</Relationships>",
    "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{PACKAGE}/relationships">'
    f'<Relationship Id="rId1" Type="{LINKS}/worksheet" Target="worksheets/sheet1.xml"/>'
    f'<Relationship Id="rId2" Type="{LINKS}/styles" Target="styles.xml"/>'
    "</Relationships>",
    "xl/styles.xml": f'<styleSheet xmlns="{MAIN}">'
    '<numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy\\-mm\\-dd"/></numFmts>'
    '<fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
    '<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill>'
    '<fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
    '<cellXfs count="4"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    '<xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/>'
    '<xf numFmtId="164" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
    '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0" quotePrefix="1"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles>'
    "</styleSheet>",
}


class Outbox:
    """A file that is only written to; what was written is taken out as it comes."""

    def __init__(self) -> None:
        self.parts: list[bytes] = []

    def write(self, data: bytes) -> int:
        """Keep what is written until it is taken."""
        self.parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Do nothing; all is here."""

    def take(self) -> bytes:
        """Return what was written since the last time."""
        data = b"".join(self.parts)
        self.parts.clear()
        return data


def sheet_portions(
    headings: Sequence[str], rows: Iterable[Sequence[Cell]], *, title: str
) -> Iterator[bytes]:
    """Yield a workbook in portions: frozen headings, days as days, texts as texts."""
    box = Outbox()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:  # type: ignore[call-overload] # it is only written to
        for name, text in FIXED.items():
            archive.writestr(name, HEAD + text)
        archive.writestr("xl/workbook.xml", HEAD + book_text(title))
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            sheet.write((HEAD + sheet_start(headings)).encode())
            for texts in in_portions(row_texts(rows)):
                sheet.write("".join(texts).encode())
                yield box.take()
            sheet.write(b"</sheetData></worksheet>")
    yield box.take()


def book_text(title: str) -> str:
    """Return the part that names the sheet."""
    name = escape(UNFIT.sub(" ", BAD_NAME.sub(" ", title))[:31], {'"': "&quot;"})
    return (
        f'<workbook xmlns="{MAIN}" xmlns:r="{LINKS}"><sheets>'
        f'<sheet name="{name}" sheetId="1" r:id="rId1"/></sheets></workbook>'
    )


def sheet_start(headings: Sequence[str]) -> str:
    """Return the sheet as far as its headings."""
    cells = "".join(text_cell(heading, style=BOLD) for heading in headings)
    widths = "".join(
        f'<col min="{at}" max="{at}" width="{max(10, len(heading) + 2)}" customWidth="1"/>'
        for at, heading in enumerate(headings, start=1)
    )
    return (
        f'<worksheet xmlns="{MAIN}"><sheetViews><sheetView workbookViewId="0">'
        '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/>'
        f"</sheetView></sheetViews><cols>{widths}</cols><sheetData><row>{cells}</row>"
    )


def in_portions(things: Iterable[T]) -> Iterator[list[T]]:
    """Yield things a portion at a time, the last one perhaps shorter."""
    portion: list[T] = []
    for thing in things:
        portion.append(thing)
        if len(portion) == PORTION:
            yield portion
            portion = []
    yield portion


def row_texts(rows: Iterable[Sequence[Cell]]) -> Iterator[str]:
    """Yield each row as it stands in the sheet."""
    for row in rows:
        yield f"<row>{''.join(map(cell_text, row))}</row>"


def cell_text(cell: Cell) -> str:
    """Return a cell as it stands in the sheet: a number, a day, or a text."""
    if cell is None or cell == "":
        return "<c/>"
    if isinstance(cell, datetime):
        return text_cell(cell.isoformat(sep=" "))
    if isinstance(cell, date):
        return day_cell(cell)
    if isinstance(cell, bool):
        return f'<c t="b"><v>{int(cell)}</v></c>'
    if isinstance(cell, int | Decimal):
        return f"<c><v>{format(cell, 'f') if isinstance(cell, Decimal) else cell}</v></c>"
    return text_cell(cell)


def day_cell(day: date) -> str:
    """Return a day as its number since the last days of 1899, an early one as a text."""
    if day < FIRST_DAY:
        return text_cell(day.isoformat())
    return f'<c s="{DAY}"><v>{(day - DAY_ZERO).days}</v></c>'


def text_cell(text: str, *, style: int = PLAIN) -> str:
    """Return a text that stays one; what is longer than a cell can be is cut."""
    fit = escape(UNFIT.sub("\N{REPLACEMENT CHARACTER}", text)[:LONGEST_CELL])
    if style == PLAIN and text.startswith(LIKE_FORMULAS):
        style = QUOTED
    styled = f' s="{style}"' if style else ""
    return f'<c t="inlineStr"{styled}><is><t xml:space="preserve">{fit}</t></is></c>'
