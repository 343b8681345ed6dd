"""CPU of label sheets against a floor, measured in the same run: ``python -m tests.bench.labels``.

The floor writes the same strokes and three lines of text per label with pydyf
alone: no layout, a built-in font, symbols by the quickest maker at hand. Product
and floor take turns; what is printed are medians of the process's CPU time.
"""

import random
from collections.abc import Iterator

from tests.bench.measuring import Asked, FloorPDF, compare, peak_mb, run
from tests.bench.symbols import runs_of, strokes
from tests.bench.table import Row

MODULE = "tests.bench.labels"
# Goals: not more than so many times the floor.
GOALS = {30: 5.0, 300: 4.0, 3000: 3.5}
GROWTH_GOAL = 1.15
HOST = "REEF.EXAMPLE.ORG"
POINTS_PER_MM = 72 / 25.4


def labels(count: int) -> list[tuple[str, str, str]]:
    """Return codes and words, the same ones every time."""
    from fraginv.base.rules.codes import draw_code

    chance = random.Random(7)
    return [
        (draw_code(chance.choice), f"Harbour Lantern {number % 40}", "Cut Nov 12, 2026")
        for number in range(count)
    ]


def product(rows: list[tuple[str, str, str]]) -> bytes:
    """Make the sheets as the project does, symbols included."""
    from fraginv.base.paper import paper_width, render_pdf
    from fraginv.labels.rules.layout import lay_out
    from fraginv.labels.rules.parts import Label
    from fraginv.labels.rules.stocks import LETTER

    layout = lay_out(
        [Label(code=code, title=title, detail=detail) for code, title, detail in rows],
        stock=LETTER,
        skip=0,
        host=HOST,
        measure=lambda text, weight: paper_width(text, weight=weight),
    )
    return render_pdf(
        "labels/paper_labels.html",
        {"layout": layout},
        finisher=lambda page: layout.sheets[page].drawing,
        tagged=False,
    )


def floor(rows: list[tuple[str, str, str]]) -> bytes:
    """Write the same labels with nothing but PDF operators."""
    from fraginv.labels.rules.stocks import LETTER

    pdf = FloorPDF(612, 792)
    for start in range(0, len(rows), LETTER.per_sheet):
        operators: list[bytes] = []
        for index, row in enumerate(rows[start : start + LETTER.per_sheet]):
            place = LETTER.place(index)
            x, y = place.x_mm * POINTS_PER_MM, 792 - place.y_mm * POINTS_PER_MM
            operators.extend(floor_label(row, x=x, y=y))
        pdf.add_page(operators)
    return pdf.written()


def floor_label(row: tuple[str, str, str], *, x: float, y: float) -> Iterator[bytes]:
    """Yield the operators of one label with its top left corner at x, y in points."""
    from fraginv.base.rules.codes import address, show_code

    code, title, detail = row
    yield f"q 1.92 0 0 -1.92 {x + 8:.3f} {y - 8:.3f} cm".encode()
    yield strokes(runs_of(address(HOST, code)))
    yield b"f Q"
    for line, size in ((show_code(code), 18), (title, 9.5), (detail, 8)):
        y -= size * 1.3
        yield f"BT /F1 {size} Tf 1 0 0 1 {x + 75:.3f} {y:.3f} Tm ({line}) Tj ET".encode("latin-1")


def rows(asked: Asked) -> Iterator[Row]:
    """Measure sheets of each size, how the cost of one label grows, and the peak."""
    each: dict[int, float] = {}
    for count, goal in GOALS.items():
        turns = max(1, asked.rounds * 300 // max(300, count))
        ours, least = compare(labels(count), (product, floor), rounds=turns)
        each[count] = ours / count
        yield Row("label sheet", f"{count} labels", ours, least, goal)
    yield Row("label, growth", "3000 : 300", each[3000], each[300], GROWTH_GOAL)
    yield Row("label sheet, peak", "3000 labels", peak_mb(MODULE, 3000), goal=250, unit="MB")


if __name__ == "__main__":
    run(MODULE, rows, rounds=7, peak=lambda count: product(labels(count)))
