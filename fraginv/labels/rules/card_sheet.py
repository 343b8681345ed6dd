"""The measuring card as it is printed: its ink, and how it is sent to a printer that strays.

Everything is a rectangle in millimetres of the card's own plane (``base.rules.card``), so
that it comes out exactly where it is looked for in photographs.
"""

from collections.abc import Iterator
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.card import (
    BAR,
    CARD_HEIGHT_MM,
    CARD_WIDTH_MM,
    CELL_MM,
    LABEL_PLACE,
    MARKERS,
    PAPERS,
    WINDOW,
    Box,
    CardPaper,
    Marker,
)
from fraginv.labels.rules.printers import Correction

LINE_MM: Final = 0.25
# The bar shows tens of millimetres by turns, fives and tens by strokes below it.
STEP_MM: Final = 10.0
END_TICK_MM, TEN_TICK_MM, FIVE_TICK_MM = 2.4, 1.6, 1.0
# Corners around what must stay white stand this far outside of it.
CORNER_GAP_MM: Final = 0.15
CORNER_ARM_MM: Final = 5.0
# What stands under the card, and the white around both; corners show where to cut them out.
FOOT_MM: Final = 30.0
MARGIN_MM: Final = 8.0
CUT_ARM_MM: Final = 4.0


def card_paper(name: str) -> CardPaper:
    """Return the sheet that the card is printed on, by its name in any case.

    Raises: InputError naming the sheets that there are.
    """
    found = PAPERS.get(name.strip().lower())
    if found is None:
        raise InputError(f"The card is printed on {' or '.join(PAPERS)}, not on “{name[:40]}”.")
    return found


def paper_for(house_paper: str) -> str:
    """Return the sheet to propose to an organisation that uses ``letter`` or ``a4`` paper."""
    return "a5" if house_paper.lower() == "a4" else "letter"


def dark_runs(marker: Marker) -> Iterator[Box]:
    """Yield each unbroken run of dark cells in a marker's rows."""
    for row, cells in enumerate(marker.cells):
        start = -1
        for column, dark in enumerate((*cells, False)):
            if dark and start < 0:
                start = column
            elif not dark and start >= 0:
                left = marker.place.left_mm + start * CELL_MM
                top = marker.place.top_mm + row * CELL_MM
                yield Box(left, top, (column - start) * CELL_MM, CELL_MM)
                start = -1


def bar_ink() -> Iterator[Box]:
    """Yield the bar: its outline, each second ten millimetres dark, and strokes below it.

    Its outer edges are where the rule says; no stroke goes beyond its ends.
    """
    line = LINE_MM
    yield Box(BAR.left_mm, BAR.top_mm, BAR.width_mm, line)
    yield Box(BAR.left_mm, BAR.bottom_mm - line, BAR.width_mm, line)
    for left in (BAR.left_mm, BAR.right_mm - line):
        yield Box(left, BAR.top_mm, line, BAR.height_mm + END_TICK_MM)
    for ten in range(0, round(BAR.width_mm / STEP_MM), 2):
        yield Box(BAR.left_mm + ten * STEP_MM, BAR.top_mm, STEP_MM, BAR.height_mm)
    for five in range(1, round(2 * BAR.width_mm / STEP_MM)):
        length = FIVE_TICK_MM if five % 2 else TEN_TICK_MM
        middle = BAR.left_mm + five * STEP_MM / 2
        yield Box(middle - line / 2, BAR.bottom_mm, line, length)


def corners_around(place: Box) -> Iterator[Box]:
    """Yield four corners just outside of what must stay white."""
    arm, line = CORNER_ARM_MM, LINE_MM
    left, top = place.left_mm - CORNER_GAP_MM - line, place.top_mm - CORNER_GAP_MM - line
    right, bottom = place.right_mm + CORNER_GAP_MM, place.bottom_mm + CORNER_GAP_MM
    for x, outer_x in ((left, left), (right + line - arm, right)):
        for y, outer_y in ((top, top), (bottom + line - arm, bottom)):
            yield Box(x, outer_y, arm, line)
            yield Box(outer_x, y, line, arm)


def cut_marks() -> Iterator[Box]:
    """Yield strokes at the corners of what is cut out of a larger sheet."""
    arm, line = CUT_ARM_MM, LINE_MM
    for x, away_x in ((-MARGIN_MM, -arm), (CARD_WIDTH_MM + MARGIN_MM, 0.0)):
        for y, away_y in ((-MARGIN_MM, -arm), (CARD_HEIGHT_MM + FOOT_MM, 0.0)):
            yield Box(x + away_x, y - line / 2, arm, line)
            yield Box(x - line / 2, y + away_y, line, arm)


def is_cut_out(paper: CardPaper) -> bool:
    """Tell whether the card is cut out of its sheet, which is larger than it need be."""
    return paper.width_mm > CARD_WIDTH_MM + 4 * MARGIN_MM


def ink_of(paper: CardPaper) -> Iterator[Box]:
    """Yield all that is drawn of the card on a sheet."""
    for marker in MARKERS:
        yield from dark_runs(marker)
    yield from bar_ink()
    yield from corners_around(WINDOW)
    yield from corners_around(LABEL_PLACE)
    if is_cut_out(paper):
        yield from cut_marks()


def card_drawing(paper: CardPaper, *, correction: Correction) -> str:
    """Return the card as PDF operators, drawn larger or smaller so that it comes out true.

    It is stretched around its own middle, so that it stays in the middle of its sheet. All
    is one path: cells that touch leave no seam. It is marked as no part of the text
    (ISO 14289-1, artifact), which says in words what the card is for.
    """
    across, down = 1 / correction.stretch_x, 1 / correction.stretch_y
    left = paper.left_mm + (1 - across) * CARD_WIDTH_MM / 2
    top = paper.top_mm + (1 - down) * CARD_HEIGHT_MM / 2
    boxes = "\n".join(
        f"{box.left_mm:.4f} {box.top_mm:.4f} {box.width_mm:.4f} {box.height_mm:.4f} re"
        for box in ink_of(paper)
    )
    frame = f"q {across:.7f} 0 0 {down:.7f} {left:.5f} {top:.5f} cm"
    return f"/Artifact BMC\n{frame}\n{boxes}\nf Q\nEMC"


def card_outline() -> str:
    """Return the card's ink as an SVG path, one millimetre being one unit."""
    boxes = (
        *(box for marker in MARKERS for box in dark_runs(marker)),
        *(*bar_ink(), *corners_around(WINDOW), *corners_around(LABEL_PLACE)),
    )
    return "".join(
        f"M{box.left_mm:.2f} {box.top_mm:.2f}h{box.width_mm:.2f}v{box.height_mm:.2f}"
        f"h-{box.width_mm:.2f}z"
        for box in boxes
    )
