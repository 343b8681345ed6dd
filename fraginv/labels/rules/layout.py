"""Labels as absolute boxes of text and strokes of ink, sheet by sheet.

Each line of a label (code, first line of the title, …) is one block per column
of the sheet: as many lines as the sheet has rows, one label's pitch apart. That
puts every text at an exact place and costs a third of a box per label.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from fraginv.base.rules.codes import address, show_code
from fraginv.base.symbols import QUIET_MODULES, make_symbol
from fraginv.labels.rules.fitting import (
    FRAME_MM,
    LEVEL,
    Measure,
    SymbolFit,
    cut_short,
    fit_lines,
    fit_symbol,
    plain_line,
)
from fraginv.labels.rules.parts import HAIR_MM, Label, Line, Plan
from fraginv.labels.rules.plans import BACK, plan_for
from fraginv.labels.rules.stocks import LabelStock, Place
from fraginv.labels.rules.words import FULL_CAUTIONS

TITLES = ("title", "title2", "title3")


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
class Layout:
    """Hold all pages of a print run, and how its labels are set."""

    stock: LabelStock
    fit: SymbolFit
    plan: Plan
    sheets: tuple[Sheet, ...]

    @property
    def lines(self) -> Sequence[tuple[str, Line]]:
        """Return each kind of line with its type."""
        return list(self.plan.lines.items())


def lay_out(
    labels: Sequence[Label], *, stock: LabelStock, skip: int, host: str, measure: Measure
) -> Layout:
    """Lay labels out on sheets of a stock, the first ``skip`` places left empty.

    Raises: InputError when the host is too long for the stock, or the stock too
        small for its form.
    """
    fit = fit_symbol(stock, host=host)
    plan = plan_for(labels, stock=stock, fit=fit, measure=measure)
    places = [stock.place(skip + index) for index in range(len(labels))]
    sheets = tuple(Sheet() for _ in range(places[-1].sheet + 1 if places else 0))
    columns: dict[tuple[int, int, str], list[str]] = {}
    for label, place in zip(labels, places, strict=True):
        strokes = strokes_of(label, place, plan=plan, fit=fit, host=host)
        sheets[place.sheet].strokes.extend(strokes)
        for kind, text in texts_of(label, lines=plan.lines, measure=measure):
            key = (place.sheet, place.column, kind)
            columns.setdefault(key, [""] * stock.rows)[place.row] = text
    for (sheet, column, kind), texts in columns.items():
        block = block_of(kind, texts, column=column, stock=stock, line=plan.lines[kind])
        sheets[sheet].blocks.append(block)
    return Layout(stock=stock, fit=fit, plan=plan, sheets=sheets)


def texts_of(
    label: Label, *, lines: Mapping[str, Line], measure: Measure
) -> Iterator[tuple[str, str]]:
    """Yield the lines of one label, each with the kind of line that it is.

    What stands on the second face of a flag comes once more.
    """
    for kind, text in face_texts(label, lines=lines, measure=measure):
        yield kind, text
        if f"{kind}{BACK}" in lines:
            yield f"{kind}{BACK}", text


def face_texts(
    label: Label, *, lines: Mapping[str, Line], measure: Measure
) -> Iterator[tuple[str, str]]:
    """Yield the lines of a label, or of its first face."""
    if "end" in lines:
        yield "end", label.end
    if "code" in lines:
        yield "code", show_code(label.code)
    kinds = [kind for kind in TITLES if kind in lines]
    room = lines[kinds[0]].room_em
    weight = lines[kinds[0]].weight
    title = fit_lines(label.title, room=room, weight=weight, measure=measure, most=len(kinds))
    yield from zip(kinds, title, strict=False)
    detail = plain_line(label.detail)
    if detail and "detail" in lines:
        line = lines["detail"]
        short = "short" in lines and len(title) == 1 and not label.to_write_on
        yield (
            "short" if short else "detail",
            cut_short(detail, room=line.room_em, weight=line.weight, measure=measure),
        )
    if label.caution and "caution" in lines:
        yield from caution_texts(label.caution, lines=lines, measure=measure)


def caution_texts(
    caution: str, *, lines: Mapping[str, Line], measure: Measure
) -> Iterator[tuple[str, str]]:
    """Yield the caution's lines, on two of them the fullest wording that fits uncut."""
    line = lines["caution"]
    kinds = [kind for kind in ("caution", "caution2") if kind in lines]
    wordings = (*(FULL_CAUTIONS.get(caution, ()) if len(kinds) > 1 else ()), caution)
    for wording in wordings:
        found = fit_lines(
            wording, room=line.room_em, weight=line.weight, measure=measure, most=len(kinds)
        )
        if " ".join(found) == wording or wording == caution:
            yield from zip(kinds, found, strict=False)
            return


def block_of(
    kind: str, texts: Sequence[str], *, column: int, stock: LabelStock, line: Line
) -> TextBlock:
    """Place one line of all labels in a column so that its middle is where it belongs."""
    return TextBlock(
        kind=kind,
        left_mm=stock.left_mm + column * stock.pitch_x_mm + line.left_mm,
        top_mm=stock.top_mm + line.middle_mm - stock.pitch_y_mm / 2,
        width_mm=line.width_mm,
        text="\n".join(texts).rstrip("\n"),
    )


def strokes_of(
    label: Label, place: Place, *, plan: Plan, fit: SymbolFit, host: str
) -> Iterator[str]:
    """Yield what is drawn on one label: symbols with frames, and bar, writing line or marks."""
    side = fit.box_mm - FRAME_MM
    middle = FRAME_MM / 2
    inner = FRAME_MM + QUIET_MODULES * fit.module_mm
    symbol = make_symbol(address(host, label.code), level=LEVEL)
    for x, y in plan.symbols:
        left, top = place.x_mm + x, place.y_mm + y
        yield f"{FRAME_MM} w {left + middle:.4f} {top + middle:.4f} {side:.4f} {side:.4f} re S"
        yield symbol.drawing(left + inner, top + inner, fit.module_mm)
    if plan.marks:
        yield f"q 1 0 0 1 {place.x_mm:.4f} {place.y_mm:.4f} cm\n{plan.marks}\nQ"
    if label.caution and plan.bar:
        x, y, width, height = plan.bar
        yield f"{place.x_mm + x:.4f} {place.y_mm + y:.4f} {width:.4f} {height:.4f} re f"
    if label.to_write_on and plan.writing:
        x, y, width = plan.writing
        yield f"{place.x_mm + x:.4f} {place.y_mm + y:.4f} {width:.4f} {HAIR_MM} re f"
