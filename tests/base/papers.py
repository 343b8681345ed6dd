"""Reading PDFs back with libraries that did not write them."""

import io
from dataclasses import dataclass

import pypdfium2
from pypdf import PdfReader

from fraginv.base.symbols import Reading, read_symbols

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True)
class Words:
    """One piece of text and where it begins, in mm from the page's top left corner."""

    text: str
    x_mm: float
    y_mm: float
    size_pt: float


def symbols_of(pdf: bytes, *, dpi: int = 300) -> list[list[Reading]]:
    """Render each page and read every symbol on it."""
    pages = []
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            bitmap = page.render(scale=dpi / 72, grayscale=True)
            rows = memoryview(bitmap.buffer).cast("B")
            stride = bitmap.stride
            pixels = b"".join(
                bytes(rows[start * stride : start * stride + bitmap.width])
                for start in range(bitmap.height)
            )
            pages.append(read_symbols(pixels, width=bitmap.width, height=bitmap.height))
            bitmap.close()
            page.close()
    return pages


def texts_of(pdf: bytes) -> list[str]:
    """Return the text of each page."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def words_of(pdf: bytes, page: int = 0) -> list[Words]:
    """Return each piece of text on a page with its place and size."""
    sheet = PdfReader(io.BytesIO(pdf)).pages[page]
    height = float(sheet.mediabox.height)
    found: list[Words] = []

    def visit(text: str, place: list[float], line: list[float], font: object, size: float) -> None:
        if not text.strip():
            return
        x = line[4] * place[0] + line[5] * place[2] + place[4]
        y = line[4] * place[1] + line[5] * place[3] + place[5]
        scale = (place[0] ** 2 + place[1] ** 2) ** 0.5 * (line[0] ** 2 + line[1] ** 2) ** 0.5
        found.append(
            Words(text.strip(), x * MM_PER_POINT, (height - y) * MM_PER_POINT, size * scale)
        )

    sheet.extract_text(visitor_text=visit)
    return found


def images_in(pdf: bytes) -> int:
    """Count the pictures in a PDF."""
    return sum(len(page.images) for page in PdfReader(io.BytesIO(pdf)).pages)


def page_sizes_mm(pdf: bytes) -> list[tuple[float, float]]:
    """Return width and height of each page in mm, to a tenth."""
    return [
        (
            round(float(page.mediabox.width) * MM_PER_POINT, 1),
            round(float(page.mediabox.height) * MM_PER_POINT, 1),
        )
        for page in PdfReader(io.BytesIO(pdf)).pages
    ]
