"""CPU of availability sheets against a floor in one run: ``python -m tests.bench.sheet``.

One variety a row, each with a picture of its own, 240 pixels wide. The floor
passes the same JPEG bytes through and writes the same words with pydyf alone.
It draws no symbols, tags or fonts of its own, so the ratio is high; what to
watch is the time a row and that it does not grow with the sheet. Product and
floor take turns; what is printed are medians of the process's CPU time, the
file's size against the sum of its pictures, and the peak of memory.
"""

import io
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from types import SimpleNamespace

import pydyf
from PIL import Image

from tests.bench.measuring import FloorPDF, compare, peak_mb, run, say

MODULE = "tests.bench.sheet"
COUNTS = (50, 200, 1000)
SIZE_GOAL = 1.06
PEAK_GOAL_MB = 250
ROWS_ON_A_PAGE = 9
PICTURE = (240, 180)


@dataclass(frozen=True)
class Row:
    """One variety: its name, what a piece costs in minor units, and its picture."""

    name: str
    price: int
    jpeg: bytes


def rows(count: int) -> list[Row]:
    """Return varieties with pictures, the same ones every time."""
    chance = random.Random(7)
    return [
        Row(f"Harbour Lantern {number}", 1_500 + number, jpeg(chance)) for number in range(count)
    ]


def jpeg(chance: random.Random) -> bytes:
    """Draw a picture about as large as a photo of that size."""
    coarse = Image.frombytes("RGB", (60, 45), chance.randbytes(60 * 45 * 3))
    target = io.BytesIO()
    coarse.resize(PICTURE).save(target, "JPEG", quality=80)
    return target.getvalue()


def product(given: list[Row]) -> bytes:
    """Make the sheet as the project does, from its lines on."""
    from fraginv.base.models import Organisation
    from fraginv.base.paper import render_pdf
    from fraginv.base.queries.organisation import present
    from fraginv.sheets.queries.papers import PaperShelf, Pictured
    from fraginv.sheets.rules import SheetLine, sheet_lines, shelves
    from fraginv.trade.rules.words import Unit

    lines = sheet_lines(
        SheetLine(place, row.name, "Acropora sp.", "SPS", "M", 3, row.price, Unit.PIECE)
        for place, row in enumerate(given)
    )
    house = Organisation(name="Bench", currency="USD", zone="UTC", locale="en_US", paper="a4")
    found = SimpleNamespace(
        as_of=date(2026, 11, 25),
        until=date(2026, 12, 2),
        reader="",
        kind="retail",
        pieces=3 * len(lines),
    )
    groups = [
        PaperShelf(
            shelf, [Pictured(one, str(one[0].variety), False) for one in shelf.varieties], []
        )
        for shelf in shelves(lines)
    ]
    token = present.set(house)
    try:
        return render_pdf(
            "sheets/paper_sheet.html",
            {"organisation": house, "found": found, "groups": groups, "cautions": []},
            pictures={str(place): row.jpeg for place, row in enumerate(given)},
        )
    finally:
        present.reset(token)


def floor(given: list[Row]) -> bytes:
    """Write the same pictures and words with nothing but PDF operators."""
    pdf = FloorPDF(595, 842)
    for start in range(0, len(given), ROWS_ON_A_PAGE):
        page = given[start : start + ROWS_ON_A_PAGE]
        operators = [one for place, row in enumerate(page) for one in floor_row(row, place=place)]
        pdf.add_page(operators, [pydyf.Stream([row.jpeg], extra=image_facts()) for row in page])
    return pdf.written()


def image_facts() -> pydyf.Dictionary:
    """Return what a PDF says of a JPEG that is passed through."""
    width, height = PICTURE
    return pydyf.Dictionary(
        {
            "Type": "/XObject",
            "Subtype": "/Image",
            "Width": width,
            "Height": height,
            "ColorSpace": "/DeviceRGB",
            "BitsPerComponent": 8,
            "Filter": "/DCTDecode",
        }
    )


def floor_row(row: Row, *, place: int) -> Iterator[bytes]:
    """Yield the operators of one row."""
    y = 760 - 75 * place
    yield f"q 79 0 0 59 51 {y - 59} cm /I{place} Do Q".encode()
    price = f"${row.price / 100:.2f} a piece"
    words = ((142, row.name), (142, "Acropora sp."), (330, "M"), (400, "3 at hand"), (470, price))
    for number, (x, text) in enumerate(words):
        yield f"BT /F1 9 Tf 1 0 0 1 {x} {y - 10 - 12 * (number == 1)} Tm ({text}) Tj ET".encode()


def report(rounds: int) -> None:
    """Measure and print."""
    say(f"{'rows':>6} {'product ms':>11} {'floor ms':>9} {'ratio':>6} {'ms/row':>7} {'size':>6}")
    for count in COUNTS:
        given = rows(count)
        ours, least = compare(given, (product, floor), rounds=rounds)
        size = len(product(given)) / sum(len(row.jpeg) for row in given)
        say(
            f"{count:>6} {ours:>11.1f} {least:>9.1f} {ours / least:>6.2f}"
            f" {ours / count:>7.2f} {size:>6.3f} (goal {SIZE_GOAL})"
        )
    say(f"peak at 1000 rows: {peak_mb(MODULE, 1000):.0f} MB (goal {PEAK_GOAL_MB})")


if __name__ == "__main__":
    run(MODULE, report, rows=rows, works=(product, floor), rounds=3)
