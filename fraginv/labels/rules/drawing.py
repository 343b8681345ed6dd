"""Pictures of a sheet and of one label, for the page where a stock is described."""

from collections.abc import Sequence
from dataclasses import dataclass

from fraginv.labels.rules.fitting import Measure, fit_symbol
from fraginv.labels.rules.layout import texts_of
from fraginv.labels.rules.parts import BOLD, MM_PER_POINT, Label
from fraginv.labels.rules.plans import plan_for
from fraginv.labels.rules.stocks import LabelStock

# A label that shows what stands where.
SAMPLE_CODE = "7K3Q9FN"
SAMPLE_TITLE = "Variety's name"
SAMPLE_DETAIL = "Cut on a day"


@dataclass(frozen=True, slots=True)
class Box:
    """Hold a rectangle of a picture, in mm."""

    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True, slots=True)
class Words:
    """Hold a line of words of a picture: where it begins, and its size, in mm."""

    x: str
    y: str
    size: str
    text: str
    heavy: bool
    centred: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """Hold what is drawn of a page or a label."""

    width: str
    height: str
    boxes: Sequence[Box]
    words: Sequence[Words] = ()


def box(x: float, y: float, width: float, height: float) -> Box:
    """Return a rectangle with numbers as SVG reads them."""
    return Box(*(f"{value:.2f}" for value in (x, y, width, height)))


def sheet_picture(stock: LabelStock) -> Picture:
    """Draw where the labels lie on a sheet."""
    places = (stock.place(index) for index in range(stock.per_sheet))
    boxes = [box(place.x_mm, place.y_mm, stock.width_mm, stock.height_mm) for place in places]
    return Picture(f"{stock.page_width_mm:.2f}", f"{stock.page_height_mm:.2f}", boxes)


def label_picture(stock: LabelStock, *, host: str, measure: Measure) -> Picture:
    """Draw where symbol and words stand on one label.

    Raises: InputError when nothing can be printed on labels of this size.
    """
    fit = fit_symbol(stock, host=host)
    label = Label(code=SAMPLE_CODE, title=SAMPLE_TITLE, detail=SAMPLE_DETAIL)
    plan = plan_for([label], stock=stock, fit=fit, measure=measure)
    words = []
    for kind, text in texts_of(label, lines=plan.lines, measure=measure):
        line = plan.lines[kind]
        size = line.size_pt * MM_PER_POINT
        left = line.left_mm + (line.width_mm / 2 if line.centred else 0)
        # The middle of capitals lies about a third of the size above their foot.
        foot = line.middle_mm + 0.36 * size
        words.append(
            Words(
                f"{left:.2f}", f"{foot:.2f}", f"{size:.2f}", text, line.weight == BOLD, line.centred
            )
        )
    boxes = [box(x, y, fit.box_mm, fit.box_mm) for x, y in plan.symbols]
    return Picture(f"{stock.width_mm:.2f}", f"{stock.height_mm:.2f}", boxes, words)
