"""What is printed: our own labels and the measuring card, rasterised from their own PDFs."""

from dataclasses import dataclass, field
from functools import lru_cache

import cv2
import numpy as np
import pypdfium2

from fraginv.base.paper import paper_width, render_pdf
from fraginv.base.rules import card
from fraginv.base.rules.codes import address
from fraginv.labels.rules.card_sheet import FOOT_MM, card_drawing
from fraginv.labels.rules.fitting import FRAME_MM, SymbolFit
from fraginv.labels.rules.layout import lay_out
from fraginv.labels.rules.parts import MM_PER_POINT, Label
from fraginv.labels.rules.printers import Correction
from fraginv.labels.rules.stocks import LabelStock
from tests.growth.scenes.camera import Array, Grey

PX_PER_MM = 40.0
# A card's cells of 2.75 mm and its half millimetres are whole numbers of these.
CARD_PX_PER_MM = 32
# What paper and ink send back of the light.
PAPER, INK = 0.86, 0.035
QUIET = 4


@dataclass
class Print:
    """Hold one printed piece: its grey pixels (255 is bare paper) and its size.

    ``coarser`` keeps the piece at other scales, so that it is not sampled too thinly.
    """

    pixels: Grey
    px_per_mm: float
    coarser: dict[int, Grey] = field(default_factory=dict)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Return width and height."""
        height, width = self.pixels.shape
        return width / self.px_per_mm, height / self.px_per_mm

    def at_scale(self, px_per_mm: float) -> tuple[Grey, float]:
        """Return the pixels at the coarsest scale that is still as fine as asked, and that."""
        step = max(1, int(self.px_per_mm / px_per_mm))
        if step not in self.coarser:
            high, wide = (side // step * step for side in self.pixels.shape)
            size = (wide // step, high // step)
            part = self.pixels[:high, :wide]
            self.coarser[step] = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA))
        return self.coarser[step], self.px_per_mm / step


@dataclass(frozen=True)
class PrintedLabel:
    """Hold a label as printed, and where on it the symbol lies.

    ``corners_mm`` are the symbol's outer corners, clockwise from its own top left.
    """

    print: Print
    code: str
    text: str
    fit: SymbolFit
    corners_mm: Array


@dataclass(frozen=True)
class Run:
    """Say what labels a scene has: their size in mm, and whose address they carry."""

    width_mm: float = 57.5
    height_mm: float = 24.6
    host: str = "REEF.TEST"
    form: str = "plain"

    def stock(self) -> LabelStock:
        """Return the stock, a roll, on which each label is a page."""
        width, height = self.width_mm, self.height_mm
        return LabelStock(
            name="scene",
            paper="Roll",
            page_width_mm=width,
            page_height_mm=height,
            width_mm=width,
            height_mm=height,
            columns=1,
            rows=1,
            left_mm=0,
            top_mm=0,
            pitch_x_mm=width,
            pitch_y_mm=height,
            form=self.form,
            is_roll=True,
        )


# Symbols of 16.9 mm (modules of 0.68 mm), 15 mm and 12.7 mm, all at level Q.
LARGE = Run()
MIDDLE = Run(width_mm=34.0, height_mm=22.0, form="tile")
SMALL = Run(width_mm=31.0, height_mm=19.4, form="tile")
LONG_HOST = Run(host="CORALS.LANTERNS.TEST")
RUNS = (LARGE, LARGE, MIDDLE, SMALL, LONG_HOST)


@lru_cache(maxsize=128)
def printed_label(code: str, run: Run = LARGE) -> PrintedLabel:
    """Print one label as the project does and rasterise it."""
    stock = run.stock()
    layout = lay_out(
        [Label(code=code, title="Harbour Lantern", detail="Cut Nov 12, 2026")],
        stock=stock,
        skip=0,
        host=run.host,
        measure=lambda text, weight: paper_width(text, weight=weight),
    )
    pdf = render_pdf(
        "labels/paper_labels.html",
        {"layout": layout},
        finisher=lambda page: layout.sheets[page].drawing,
        tagged=False,
    )
    fit = layout.fit
    left, top = layout.plan.symbols[0]
    inner = FRAME_MM + QUIET * fit.module_mm
    corner = np.array([left + inner, top + inner])
    square = np.array([[0.0, 0.0], [1, 0], [1, 1], [0, 1]])
    (pixels,) = rasterised(pdf)
    return PrintedLabel(
        print=Print(pixels, PX_PER_MM),
        code=code,
        text=address(run.host, code),
        fit=fit,
        corners_mm=corner + square * fit.symbol_mm,
    )


def rasterised(pdf: bytes, *, px_per_mm: float = PX_PER_MM) -> list[Grey]:
    """Return each page of a PDF in grey, at the scale of prints.

    The library rounds a page up to whole pixels and stretches it over them. So it is told a
    trace less, for 1,240 pixels that come out as 1,240.0001 not to become 1,241.
    """
    scale = px_per_mm * MM_PER_POINT * (1 - 1e-5)
    pages = []
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            bitmap = page.render(scale=scale, grayscale=True)
            pages.append(np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width))
            bitmap.close()
            page.close()
    return pages


@lru_cache(maxsize=1)
def printed_card() -> Print:
    """Print the measuring card as the project does, rasterise it and cut it out."""
    sheet = card.PAPERS["a5"]
    context = {
        "organisation": {"name": "Lantern Bay Reef"},
        "paper": sheet,
        "across": "1",
        "down": "1",
        "width_mm": card.CARD_WIDTH_MM,
        "height_mm": card.CARD_HEIGHT_MM,
        "foot_mm": FOOT_MM,
        "middle_x_mm": card.CARD_WIDTH_MM / 2,
        "middle_y_mm": card.CARD_HEIGHT_MM / 2,
    }
    drawing = card_drawing(sheet, correction=Correction())
    pdf = render_pdf("labels/paper_card.html", context, finisher=lambda _: drawing, tagged=False)
    (page,) = rasterised(pdf, px_per_mm=CARD_PX_PER_MM)
    left, top, wide, high = (
        round(length * CARD_PX_PER_MM)
        for length in (sheet.left_mm, sheet.top_mm, card.CARD_WIDTH_MM, card.CARD_HEIGHT_MM)
    )
    return Print(page[top : top + high, left : left + wide].copy(), float(CARD_PX_PER_MM))
