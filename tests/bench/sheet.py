"""CPU of availability sheets against a floor in one run: ``python -m tests.bench.sheet``.

One variety a row, each with a picture of its own, 240 pixels wide. The floor
passes the same JPEG bytes through and writes the same words with pydyf alone.
Two floors stand beside the product. The one that the goals were set against
also draws the strokes of a symbol a row, whose modules are made beforehand; the
product's sheet has none, but tags each row for readers and brings its own font.
The bare one draws words and pictures only; nothing is laid out, so that it says
little more than how long the file takes to write.
"""

import io
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from typing import Any

import pydyf
from django.core.files.base import ContentFile
from PIL import Image

from tests.bench.measuring import Asked, FloorPDF, compare, peak_mb, run
from tests.bench.symbols import Runs, runs_of, strokes
from tests.bench.table import Row

MODULE = "tests.bench.sheet"
# Goals: not more than so many times the floor with symbols.
GOALS = {50: None, 200: 10.0, 1000: 12.0}
SIZE_GOAL = 1.06
ROWS_ON_A_PAGE = 12
PICTURE = (240, 180)
LATIN = "Acropora sp."
HOST = "REEF.EXAMPLE.ORG"


@dataclass(frozen=True)
class Variety:
    """One variety: name, price of a piece in minor units, picture, and what its symbol says."""

    name: str
    price: int
    jpeg: bytes
    address: str


def varieties(count: int) -> list[Variety]:
    """Return varieties with pictures, the same ones every time."""
    from fraginv.base.rules.codes import address, draw_code

    chance = random.Random(7)
    return [
        Variety(
            f"Harbour Lantern {number}",
            1_500 + number,
            jpeg(chance),
            address(HOST, draw_code(chance.choice)),
        )
        for number in range(count)
    ]


def jpeg(chance: random.Random) -> bytes:
    """Draw a picture about as large as a photo of that size."""
    coarse = Image.frombytes("RGB", (60, 45), chance.randbytes(60 * 45 * 3))
    target = io.BytesIO()
    coarse.resize(PICTURE).save(target, "JPEG", quality=80)
    return target.getvalue()


def product(given: list[Variety]) -> bytes:
    """Make the sheet as the project does, from its lines on: pictures read, words, PDF."""
    from fraginv.base.models import Organisation
    from fraginv.base.queries.organisation import present
    from fraginv.growth.models import Photo
    from fraginv.sheets.queries.availability import Availability
    from fraginv.sheets.queries.papers import sheet_paper
    from fraginv.sheets.rules import SheetLine, sheet_lines
    from fraginv.trade.rules.words import Unit

    lines = sheet_lines(
        SheetLine(place, row.name, LATIN, "SPS", "M", 3, row.price, Unit.PIECE, cautions=("cites",))
        for place, row in enumerate(given)
    )
    photos = {place: Photo(file=stored(row.jpeg)) for place, row in enumerate(given)}
    day = date(2026, 11, 25)
    house = Organisation(name="Bench", currency="USD", zone="UTC", locale="en_US", paper="a4")
    token = present.set(house)
    try:
        return sheet_paper(Availability(day, "", "retail", "USD", lines, [], photos, {}))
    finally:
        present.reset(token)


@cache
def stored(jpeg: bytes) -> Any:
    """Put a picture where the project keeps pictures, once."""
    from fraginv.base.models import StoredFile
    from fraginv.base.queries.files import storage_for
    from fraginv.base.rules.pictures import rendition_name

    file = StoredFile(sha256=sha256(jpeg).hexdigest())
    storage_for(private=False).save(rendition_name(file.sha256, size=240), ContentFile(jpeg))
    return file


def floor(given: list[Variety]) -> bytes:
    """Write the same pictures and words, and a symbol a row, with nothing but PDF operators."""
    return written(given, with_symbols=True)


def bare_floor(given: list[Variety]) -> bytes:
    """Write the same pictures and words with nothing but PDF operators."""
    return written(given, with_symbols=False)


def written(given: list[Variety], *, with_symbols: bool) -> bytes:
    """Write a floor's file."""
    pdf = FloorPDF(595, 842)
    for start in range(0, len(given), ROWS_ON_A_PAGE):
        page = given[start : start + ROWS_ON_A_PAGE]
        operators: list[bytes] = []
        for place, row in enumerate(page):
            operators.extend(floor_row(row, place=place))
            if with_symbols:
                operators.extend(floor_symbol(kept_runs(row.address), place=place))
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


def floor_row(row: Variety, *, place: int) -> Iterator[bytes]:
    """Yield the operators of one row: its picture and seven pieces of text."""
    y = 780 - 62 * place
    yield f"q 79 0 0 59 51 {y - 59} cm /I{place} Do Q".encode()
    price = f"${row.price / 100:.2f}"
    words = (
        (142, row.name),
        (142, LATIN),
        (142, "CITES Appendix II"),
        (330, "M"),
        (400, "3 at hand"),
        (470, price),
        (500, "a piece"),
    )
    for number, (x, text) in enumerate(words):
        down = 10 + 12 * min(number, 2) * (number < 3)
        yield f"BT /F1 9 Tf 1 0 0 1 {x} {y - down} Tm ({text}) Tj ET".encode()


@cache
def kept_runs(text: str) -> Runs:
    """Return a symbol's runs, worked out once: the floor only draws them."""
    return runs_of(text)


def floor_symbol(runs: Runs, *, place: int) -> Iterator[bytes]:
    """Yield the operators of a symbol at the right end of a row."""
    yield f"q 1.6 0 0 -1.6 540 {780 - 62 * place} cm".encode()
    yield strokes(runs)
    yield b"f Q"


def rows(asked: Asked) -> Iterator[Row]:
    """Measure sheets of each length, their files, and the peak."""
    for count, goal in GOALS.items():
        given = varieties(count)
        for row in given:
            kept_runs(row.address), stored(row.jpeg)
        ours, least, bare = compare(given, (product, floor, bare_floor), rounds=asked.rounds)
        yield Row("availability sheet", f"{count} lines", ours, least, goal)
        yield Row("the same, bare floor", f"{count} lines", ours, bare)
        pictures = sum(len(row.jpeg) for row in given) / 1024
        size = len(product(given)) / 1024
        yield Row("its file : its pictures", f"{count} lines", size, pictures, SIZE_GOAL, "KiB")
    yield Row("availability sheet, peak", "1000 lines", peak_mb(MODULE, 1000), goal=250, unit="MB")


if __name__ == "__main__":
    run(MODULE, rows, rounds=5, peak=lambda count: product(varieties(count)))
