"""Label sheets as absolute boxes of text and strokes of ink.

Each line of a label (code, first line of the title, …) is one block per column
of the sheet: as many lines as the sheet has rows, one label's pitch apart. That
puts every text at an exact place and costs a third of a box per label.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import floor

from fraginv.base.rules.codes import address, show_code
from fraginv.base.symbols import QUIET_MODULES, make_symbol
from fraginv.labels.rules.fitting import (
    EDGE_MM,
    FRAME_MM,
    GAP_MM,
    LEVEL,
    RIGHT_MM,
    Measure,
    SymbolFit,
    cut_short,
    fit_lines,
    fit_symbol,
    plain_line,
)
from fraginv.labels.rules.stocks import LabelStock, Place

MM_PER_POINT = 25.4 / 72
CODE_MOST_PT = 21.0
DETAIL_MOST_PT = 8.0
DETAIL_LEAST_PT = 7.0
# Sizes of type are whole twentieths of a point.
STEPS = 20
BOLD, PLAIN = 600, 400

# Middles of the lines in mm from the top of the block of text.
BLOCK_MM = 23.4
MIDDLES = {
    "code": 3.9,
    "title": 9.7,
    "title2": 13.5,
    "short": 13.7,
    "writing": 14.6,
    "detail": 17.4,
    "caution": 21.4,
}
CAUTION_BAR_MM = 3.8
CAUTION_INSET_MM = 1.2
HAIR_MM = 0.2


@dataclass(frozen=True, slots=True)
class Label:
    """Say what one label tells: a code, and words for people.

    ``caution`` is one short word set in white on black; ``to_write_on`` leaves
    a ruled line for a pen.
    """

    code: str
    title: str = ""
    detail: str = ""
    caution: str = ""
    to_write_on: bool = False


@dataclass(frozen=True, slots=True)
class TextBlock:
    """Hold one line of all labels in one column; measures in mm."""

    kind: str
    left_mm: float
    top_mm: float
    width_mm: float
    text: str


@dataclass(slots=True)
class Sheet:
    """Hold one page: its blocks of text and its strokes, as PDF operators in mm."""

    blocks: list[TextBlock] = field(default_factory=list)
    strokes: list[str] = field(default_factory=list)

    @property
    def drawing(self) -> str:
        """Return the strokes as one text for a paper's finisher."""
        return "\n".join(self.strokes)


@dataclass(frozen=True, slots=True)
class TypeSizes:
    """Hold the sizes of type that follow from what a run's labels say, in points."""

    code_pt: float
    detail_pt: float
    title_pt: float = 9.5
    caution_pt: float = 7.5


@dataclass(frozen=True, slots=True)
class Layout:
    """Hold all pages of a print run and its sizes of type."""

    stock: LabelStock
    fit: SymbolFit
    sizes: TypeSizes
    sheets: tuple[Sheet, ...]


def lay_out(
    labels: Sequence[Label], *, stock: LabelStock, skip: int, host: str, measure: Measure
) -> Layout:
    """Lay labels out on sheets of a stock, the first ``skip`` places left empty.

    Raises: InputError when the host is too long for the stock.
    """
    fit = fit_symbol(stock, host=host)
    type_sizes = sizes_for(labels, width_mm=text_width_mm(stock, fit), measure=measure)
    places = [stock.place(skip + index) for index in range(len(labels))]
    sheets = tuple(Sheet() for _ in range(places[-1].sheet + 1 if places else 0))
    columns: dict[tuple[int, int, str], list[str]] = {}
    for label, place in zip(labels, places, strict=True):
        strokes = strokes_of(label, place, stock=stock, fit=fit, host=host)
        sheets[place.sheet].strokes.extend(strokes)
        for kind, text in texts_of(
            label, width_mm=text_width_mm(stock, fit), sizes=type_sizes, measure=measure
        ):
            key = (place.sheet, place.column, kind)
            columns.setdefault(key, [""] * stock.rows)[place.row] = text
    for (sheet, column, kind), texts in columns.items():
        sheets[sheet].blocks.append(block_of(kind, texts, column=column, stock=stock, fit=fit))
    return Layout(stock=stock, fit=fit, sizes=type_sizes, sheets=sheets)


def sizes_for(labels: Sequence[Label], *, width_mm: float, measure: Measure) -> TypeSizes:
    """Return the largest type that the longest code and the longest detail fit in.

    All labels of a run are set alike. A detail that is still too long at the
    smallest size is cut short.
    """
    code = max((measure(show_code(label.code), BOLD) for label in labels), default=1.0)
    detail = max((measure(plain_line(label.detail), PLAIN) for label in labels), default=1.0)
    points = width_mm / MM_PER_POINT
    return TypeSizes(
        code_pt=min(CODE_MOST_PT, floor(STEPS * points / code) / STEPS),
        detail_pt=min(
            DETAIL_MOST_PT,
            max(DETAIL_LEAST_PT, floor(STEPS * points / max(detail, 1.0)) / STEPS),
        ),
    )


def text_left_mm(fit: SymbolFit) -> float:
    """Return where text begins, in mm from a label's left edge."""
    return EDGE_MM + fit.box_mm + GAP_MM


def text_width_mm(stock: LabelStock, fit: SymbolFit) -> float:
    """Return how wide lines of text may be, in mm."""
    return stock.width_mm - text_left_mm(fit) - RIGHT_MM


def middle_mm(kind: str, *, stock: LabelStock) -> float:
    """Return where the middle of a line lies, in mm from a label's top edge.

    Taller labels let the lines stand up to a fifth further apart.
    """
    stretch = min(1.2, max(1.0, (stock.height_mm - 2 * EDGE_MM) / BLOCK_MM))
    return (stock.height_mm - BLOCK_MM * stretch) / 2 + MIDDLES[kind] * stretch


def texts_of(
    label: Label, *, width_mm: float, sizes: TypeSizes, measure: Measure
) -> Iterator[tuple[str, str]]:
    """Yield the lines of one label, each with the kind of line that it is."""
    points = width_mm / MM_PER_POINT
    yield "code", show_code(label.code)
    title = fit_lines(
        label.title, room=points / sizes.title_pt, weight=BOLD, measure=measure, most=2
    )
    yield from zip(("title", "title2"), title, strict=False)
    detail = cut_short(
        plain_line(label.detail), room=points / sizes.detail_pt, weight=PLAIN, measure=measure
    )
    if detail:
        yield ("short" if len(title) == 1 and not label.to_write_on else "detail"), detail
    if label.caution:
        inside = points - 2 * CAUTION_INSET_MM / MM_PER_POINT
        room = inside / sizes.caution_pt
        yield "caution", cut_short(label.caution, room=room, weight=BOLD, measure=measure)


def block_of(
    kind: str, texts: Sequence[str], *, column: int, stock: LabelStock, fit: SymbolFit
) -> TextBlock:
    """Place one line of all labels in a column so that its middle is where it belongs."""
    inset = CAUTION_INSET_MM if kind == "caution" else 0.0
    middle = middle_mm(kind, stock=stock)
    return TextBlock(
        kind="detail" if kind == "short" else kind.rstrip("2"),
        left_mm=stock.left_mm + column * stock.pitch_x_mm + text_left_mm(fit) + inset,
        top_mm=stock.top_mm + middle - stock.pitch_y_mm / 2,
        width_mm=text_width_mm(stock, fit) - inset,
        text="\n".join(texts).rstrip("\n"),
    )


def strokes_of(
    label: Label, place: Place, *, stock: LabelStock, fit: SymbolFit, host: str
) -> Iterator[str]:
    """Yield what is drawn on one label: symbol, frame, and bar or writing line."""
    left = place.x_mm + EDGE_MM
    top = place.y_mm + (stock.height_mm - fit.box_mm) / 2
    side = fit.box_mm - FRAME_MM
    middle = FRAME_MM / 2
    yield f"{FRAME_MM} w {left + middle:.4f} {top + middle:.4f} {side:.4f} {side:.4f} re S"
    inner = FRAME_MM + QUIET_MODULES * fit.module_mm
    symbol = make_symbol(address(host, label.code), level=LEVEL)
    yield symbol.drawing(left + inner, top + inner, fit.module_mm)
    text = place.x_mm + text_left_mm(fit)
    width = text_width_mm(stock, fit)
    if label.caution:
        y = place.y_mm + middle_mm("caution", stock=stock) - CAUTION_BAR_MM / 2
        yield f"{text:.4f} {y:.4f} {width:.4f} {CAUTION_BAR_MM} re f"
    if label.to_write_on:
        y = place.y_mm + middle_mm("writing", stock=stock)
        yield f"{text:.4f} {y:.4f} {width:.4f} {HAIR_MM} re f"
