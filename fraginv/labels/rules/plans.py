"""Where on a label of each form the symbol and the words stand."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fraginv.base.rules.codes import show_code
from fraginv.labels.rules.fitting import Measure, SymbolFit, plain_line
from fraginv.labels.rules.forms import (
    EDGE_MM,
    FOLD_MM,
    NARROW_GAP_MM,
    RIGHT_MM,
    Face,
    faces_of,
    symbol_left_mm,
)
from fraginv.labels.rules.parts import (
    BOLD,
    HAIR_MM,
    MM_PER_POINT,
    PLAIN,
    Asked,
    Label,
    Line,
    Plan,
    Rows,
    beside_left_edge,
    circle,
    end_pt,
    fold_marks,
    largest_pt,
    rows_in,
    text_left_mm,
    text_width_mm,
    under,
    with_end,
)
from fraginv.labels.rules.stocks import LabelStock

HEAVY = {"code", "titl"}
# What the second face of a flag says again.
BACK = "-back"
CODE_MOST_PT = 21.0
DETAIL_MOST_PT = 8.0
DETAIL_LEAST_PT = 7.0

# Middles of the lines in mm from the top of a plain label's block of text.
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
HOLE_MM = 4.0
EDGE_END_PT = 38.0
EDGE_ROWS: Rows = (
    *(("title", 4.3, 10.5), ("title2", 4.3, 10.5)),
    *(("detail", 3.5, 7.0), ("code", 3.7, 9.0)),
)
STRIP_ROWS: Rows = (("end", 7.3, 20), ("title", 3.4, 8.5), ("title2", 3.4, 8.5), ("detail", 3, 7))
STEM_ROWS: Rows = (("end", 7, 19), ("title", 3, 7.5), ("title2", 3, 7.5), ("detail", 2.8, 6.5))
BAG_ROWS: Rows = (
    *(("end", 6.9, 21.0), ("title", 3.8, 9.5), ("title2", 3.5, 9.5), ("detail", 3.2, 7.5)),
    *(("caution", 2.9, 7.0), ("caution2", 2.9, 7.0)),
)
BESIDE_ROWS: Rows = (("end", 6.2, 18), *((f"title{n}", 2.8, 6.5) for n in ("", 2, 3)))
BELOW_ROWS: Rows = (("end", 5.3, 15), ("title", 2.9, 7))


def plan_for(
    labels: Sequence[Label], *, stock: LabelStock, fit: SymbolFit, measure: Measure
) -> Plan:
    """Plan the labels of a run, all alike, with the largest type that all their words fit in."""
    return PLANS[stock.form](Asked(stock, fit, labels, measure))


def plain(asked: Asked) -> Plan:
    """Plan a label with the symbol at the left and all words beside it."""
    stock, fit = asked.stock, asked.fit
    left, width = text_left_mm(stock, fit), text_width_mm(stock, fit)
    sizes = plain_sizes(asked, width_mm=width)
    stretch = min(1.2, max(1.0, (stock.height_mm - 2 * EDGE_MM) / BLOCK_MM))
    top = (stock.height_mm - BLOCK_MM * stretch) / 2
    middles = {kind: top + middle * stretch for kind, middle in MIDDLES.items()}
    lines = {
        kind: Line(left, middles[kind], width, size, BOLD if kind[:4] in HEAVY else PLAIN)
        for kind, size in sizes.items()
    }
    lines["caution"] = on_bar(lines["caution"], right_mm=0.0)
    return Plan(
        symbols=(beside_left_edge(asked),),
        lines=lines,
        bar=(left, middles["caution"] - CAUTION_BAR_MM / 2, width, CAUTION_BAR_MM),
        writing=(left, middles["writing"], width),
    )


def on_bar(line: Line, *, right_mm: float) -> Line:
    """Return a line in white on a black bar, a little inside its ends."""
    return replace(
        line,
        left_mm=line.left_mm + CAUTION_INSET_MM,
        width_mm=line.width_mm - CAUTION_INSET_MM - right_mm,
        weight=BOLD,
        inverse=True,
    )


def plain_sizes(asked: Asked, *, width_mm: float) -> dict[str, float]:
    """Return the largest type that the longest code and the longest detail fit in, in points.

    All labels of a run are set alike. A detail that is still too long at the
    smallest size is cut short.
    """
    codes = (show_code(label.code) for label in asked.labels)
    details = (plain_line(label.detail) for label in asked.labels)
    detail = largest_pt(details, width_mm=width_mm, most=DETAIL_MOST_PT, weight=PLAIN, asked=asked)
    detail = max(DETAIL_LEAST_PT, detail)
    code = largest_pt(codes, width_mm=width_mm, most=CODE_MOST_PT, weight=BOLD, asked=asked)
    return {
        **{"code": code, "title": 9.5, "title2": 9.5},
        **{"short": detail, "detail": detail, "caution": 7.5},
    }


def edge(asked: Asked) -> Plan:
    """Plan a strip for a rack's edge: three characters as high as it goes, words beside them."""
    stock, fit = asked.stock, asked.fit
    left, width = text_left_mm(stock, fit), text_width_mm(stock, fit)
    height = stock.height_mm - 2 * EDGE_MM
    most = min(EDGE_END_PT, height * 0.9 / MM_PER_POINT)
    end_width = width * 0.38
    size = end_pt(asked, width_mm=end_width, most=most)
    words = left + end_width + NARROW_GAP_MM
    lines = rows_in(EDGE_ROWS, words, EDGE_MM, stock.width_mm - RIGHT_MM - words, height)
    lines["end"] = Line(left, stock.height_mm / 2, end_width, size, BOLD)
    return Plan((beside_left_edge(asked),), lines, writing=under(lines["title2"]))


def strip(asked: Asked) -> Plan:
    """Plan a strip to be folded over a stick: symbol on one face, words on the other."""
    stock, fit = asked.stock, asked.fit
    half, height = stock.width_mm / 2, stock.height_mm - 2 * EDGE_MM
    room = half - EDGE_MM - FOLD_MM
    corner = (EDGE_MM + (room - fit.box_mm) / 2, (stock.height_mm - fit.box_mm) / 2)
    lines = rows_in(STRIP_ROWS, half + FOLD_MM, EDGE_MM, room - RIGHT_MM + EDGE_MM, height)
    lines = with_end(lines, asked)
    return Plan((corner,), lines, writing=under(lines["title"]), marks=fold_marks(stock))


def stem(asked: Asked) -> Plan:
    """Plan a tag with a tail to tie it by."""
    stock, fit = asked.stock, asked.fit
    left, width = text_left_mm(stock, fit), text_width_mm(stock, fit)
    lines = rows_in(STEM_ROWS, left, EDGE_MM, width, stock.height_mm - 2 * EDGE_MM)
    lines = with_end(lines, asked)
    hole = circle(symbol_left_mm("stem") / 2, stock.height_mm / 2, HOLE_MM / 2)
    marks = f"{HAIR_MM} w {hole}"
    return Plan((beside_left_edge(asked),), lines, writing=under(lines["title"]), marks=marks)


def bag(asked: Asked) -> Plan:
    """Plan a label for a customer's bag, with two lines for the caution."""
    stock, fit = asked.stock, asked.fit
    left, width = text_left_mm(stock, fit), text_width_mm(stock, fit)
    lines = with_end(rows_in(BAG_ROWS, left, EDGE_MM, width, stock.height_mm - 2 * EDGE_MM), asked)
    end_width = width * 0.5
    lines["end"] = replace(lines["end"], width_mm=end_width)
    lines["code"] = Line(
        left + end_width, lines["end"].middle_mm, width - end_width, 9.0, BOLD, centred=True
    )
    for kind in ("caution", "caution2"):
        lines[kind] = on_bar(lines[kind], right_mm=CAUTION_INSET_MM)
    top = lines["caution"].middle_mm - 1.7
    bar = (left, top, width, lines["caution2"].middle_mm + 1.7 - top)
    return Plan((beside_left_edge(asked),), lines, bar=bar, writing=under(lines["title2"]))


def faces(asked: Asked) -> Plan:
    """Plan a tile, or a slot flag whose two faces are alike."""
    stock = asked.stock
    shown = faces_of(stock)
    lines: dict[str, Line] = {}
    for number, face in enumerate(shown):
        for kind, line in face_lines(face, asked).items():
            lines[kind if number == 0 else f"{kind}{BACK}"] = line
    marks = fold_marks(stock) if len(shown) > 1 else ""
    corners = tuple(face_symbol(face, asked.fit) for face in shown)
    return Plan(corners, lines, writing=under(lines["title"]), marks=marks)


def face_symbol(face: Face, fit: SymbolFit) -> tuple[float, float]:
    """Return the corner of the symbol on a face."""
    if face.beside:
        return face.x_mm, face.y_mm + (face.height_mm - fit.box_mm) / 2
    spare = face.height_mm - fit.box_mm - sum(row[1] for row in BELOW_ROWS)
    return face.x_mm + (face.width_mm - fit.box_mm) / 2, face.y_mm + max(0.0, spare) / 3


def face_lines(face: Face, asked: Asked) -> dict[str, Line]:
    """Return the lines of words on a face."""
    box = asked.fit.box_mm
    if face.beside:
        left = face.x_mm + box + NARROW_GAP_MM
        lines = rows_in(
            BESIDE_ROWS, left, face.y_mm, face.x_mm + face.width_mm - left, face.height_mm
        )
        return with_end(lines, asked)
    top = face_symbol(face, asked.fit)[1] + box
    height = face.y_mm + face.height_mm - top
    lines = with_end(rows_in(BELOW_ROWS, face.x_mm, top, face.width_mm, height), asked)
    return {kind: replace(line, centred=True) for kind, line in lines.items()}


PLANS: Mapping[str, Callable[[Asked], Plan]] = {
    **{"plain": plain, "edge": edge, "strip": strip, "stem": stem, "bag": bag},
    **{"flag": faces, "tile": faces},
}
