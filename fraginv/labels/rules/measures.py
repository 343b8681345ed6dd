"""The measures of an organisation's own stocks: read, checked and drawn."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from fraginv.base.errors import InputError
from fraginv.labels.rules.stocks import STOCKS, LabelStock

NAME = re.compile(r"[a-z0-9][a-z0-9.-]{0,38}[a-z0-9]")
# Words that addresses of pages have in a name's place.
TAKEN = {"add"}
UM = 1000
# Longer than an A3 sheet or a long strip; more labels than anybody sticks from one sheet.
MOST_PAGE_MM = 500.0
MOST_ACROSS, MOST_DOWN = 30, 60
LEAST_LABEL_MM = 10.0
# A4 and Letter, by their width and height. Source: ISO 216; ANSI/ASME Y14.1 (from memory).
PAPERS = {(210_000, 297_000): "A4", (215_900, 279_400): "Letter"}


@dataclass(frozen=True, slots=True)
class StockMeasures:
    """Hold the measures of a stock in whole micrometres, as they are kept."""

    is_roll: bool
    page_width_um: int
    page_height_um: int
    width_um: int
    height_um: int
    columns: int
    rows: int
    left_um: int
    top_um: int
    pitch_x_um: int
    pitch_y_um: int


def roll_measures(*, width_um: int, height_um: int, gap_um: int) -> StockMeasures:
    """Return the measures of a roll: each label is a page, the gap to the next belongs to it."""
    return StockMeasures(
        is_roll=True,
        page_width_um=width_um,
        page_height_um=height_um + gap_um,
        width_um=width_um,
        height_um=height_um,
        columns=1,
        rows=1,
        left_um=0,
        top_um=0,
        pitch_x_um=width_um,
        pitch_y_um=height_um + gap_um,
    )


def read_stock_name(text: str) -> str:
    """Return a stock's name in small letters.

    Raises: InputError for one that cannot be typed on a command line, or is taken by the house.
    """
    name = text.strip().lower().replace(" ", "-")
    if not NAME.fullmatch(name):
        raise InputError(
            f"“{text.strip()[:40]}” cannot be a stock's name. Use 2 to 40 small letters, digits,"
            " dots and hyphens, as in bag-80x50."
        )
    if name in STOCKS or name in TAKEN:
        raise InputError(f"The name {name} is taken by the house. Choose another.")
    return name


def check_stock(measures: StockMeasures) -> None:
    """Refuse labels that are too small, overlap, or lie off the page.

    Raises: InputError with one sentence for each fault.
    """
    faults = list(stock_faults(measures))
    if faults:
        raise InputError(" ".join(faults))


def stock_faults(measures: StockMeasures) -> Iterator[str]:
    """Yield what is wrong with a stock's measures, and what to change."""
    if min(measures.width_um, measures.height_um) < LEAST_LABEL_MM * UM:
        yield f"A label needs at least {LEAST_LABEL_MM:.0f} mm in width and height."
    if max(measures.page_width_um, measures.page_height_um) > MOST_PAGE_MM * UM:
        yield f"A page may be up to {MOST_PAGE_MM:.0f} mm wide and high."
    if not (1 <= measures.columns <= MOST_ACROSS and 1 <= measures.rows <= MOST_DOWN):
        yield f"A sheet has 1 to {MOST_ACROSS} labels across and 1 to {MOST_DOWN} down."
        return
    sides = (
        *(("side by side", "wide", "right", "left", measures.columns, measures.width_um),),
        *(("one under the other", "high", "bottom", "top", measures.rows, measures.height_um),),
    )
    pitches = (measures.pitch_x_um, measures.pitch_y_um)
    margins = (measures.left_um, measures.top_um)
    pages = (measures.page_width_um, measures.page_height_um)
    for side, pitch, margin, page in zip(sides, pitches, margins, pages, strict=True):
        how, size, end, start, count, label = side
        if count > 1 and pitch < label:
            yield (
                f"The labels {how} overlap: each is {mm(label)} {size}, and the next one begins"
                f" {mm(pitch)} further. Measure from one label's {start} edge to the next one's."
            )
        over = margin + (count - 1) * pitch + label - page
        if over > 0:
            yield (
                f"The labels end {mm(over)} beyond the page's {end} edge: look at the margin at the"
                f" {start}, how many there are {how}, their size and the distance."
            )


def mm(um: int) -> str:
    """Write micrometres as millimetres, as a ruler or a packet says them."""
    return f"{um / UM:.2f}".rstrip("0").rstrip(".") + " mm"


def stock_from(measures: StockMeasures, *, name: str, form: str) -> LabelStock:
    """Return the label stock that measures describe."""
    page = (measures.page_width_um, measures.page_height_um)
    paper = "Roll" if measures.is_roll else PAPERS.get(page, "Own")
    return LabelStock(
        name=name,
        paper=paper,
        page_width_mm=measures.page_width_um / UM,
        page_height_mm=measures.page_height_um / UM,
        width_mm=measures.width_um / UM,
        height_mm=measures.height_um / UM,
        columns=measures.columns,
        rows=measures.rows,
        left_mm=measures.left_um / UM,
        top_mm=measures.top_um / UM,
        pitch_x_mm=measures.pitch_x_um / UM,
        pitch_y_mm=measures.pitch_y_um / UM,
        form=form,
        is_roll=measures.is_roll,
    )
