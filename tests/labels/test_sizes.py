"""What is kept of a label's size is what a ruler finds on paper, and earlier sizes stay known."""

from dataclasses import replace
from decimal import Decimal

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict
from fraginv.base.models import Organisation, Person, PrintedSize
from fraginv.base.queries.codes import SymbolSize, symbol_sizes
from fraginv.base.rules.card import Box
from fraginv.base.rules.label_frame import LabelFrame
from fraginv.labels.actions.printing import print_again, start_run
from fraginv.labels.actions.stocks import (
    add_printer,
    add_stock,
    adjust_stock,
    change_stock,
    measure_printer,
)
from fraginv.labels.models import PrintRun
from fraginv.labels.queries.runs import run_pdf
from fraginv.labels.rules.measures import StockMeasures, roll_measures
from fraginv.labels.rules.printers import Check, Measures
from fraginv.labels.rules.stocks import A4, LETTER
from tests.base.papers import symbols_of
from tests.factories import make_frags
from tests.labels.sheets_seen import Seen, seen_page

TRUE = Measures(across_tenths=1000, down_tenths=1000, left_tenths=200, top_tenths=200)
TAGS = roll_measures(width_um=70_000, height_um=32_000, gap_um=3_000)
DPI = 600


def stretched(by: Person, stock: str, *, across: int, down: int, dpi: int = 300) -> None:
    """Print a stock on a printer whose bars of 100 mm come out as so many tenths."""
    printer = add_printer(f"Printer of {stock}", dpi=dpi, by=by)
    adjust_stock(stock, printer_id=printer.pk, by=by)
    measures = replace(TRUE, across_tenths=across, down_tenths=down)
    # The corner stays where it belongs, so that nothing is shifted off the page.
    measures = replace(measures, left_tenths=across // 5, top_tenths=down // 5)
    measure_printer(printer.pk, measures=measures, check=Check(), by=by)


def symbol_sent(run: PrintRun) -> tuple[float, float]:
    """Return width and height in mm of a run's only symbol as it is sent to the printer."""
    pdf = run_pdf(run)
    ((found,),) = symbols_of(pdf, dpi=DPI)
    page = seen_page(pdf, dpi=DPI)
    left, top = ((value + 0.5) * 25.4 / DPI for value in found.corners[0])
    side = 17 + 4 * found.version
    rough = (found.corners[1][0] - found.corners[0][0]) * 25.4 / DPI
    finders = Box(left, top, rough, rough), rough / side
    return across(page, *finders), across(page.turned(), turned(finders[0]), finders[1])


def turned(box: Box) -> Box:
    """Return a square on the turned page."""
    return Box(box.top_mm, box.left_mm, box.height_mm, box.width_mm)


def across(page: Seen, symbol: Box, module: float) -> float:
    """Measure from the outer edge of the first finder pattern to that of the one opposite."""
    rows = (symbol.top_mm + module, 5 * module)
    left = page.ink_from(Box(symbol.left_mm - 1, rows[0], 1 + module / 2, rows[1]))
    behind = Box(page.width_mm - symbol.right_mm - 1, rows[0], 1 + module / 2, rows[1])
    return page.width_mm - page.mirrored().ink_from(behind) - left


@pytest.mark.parametrize(
    ("stock", "form", "dpi"),
    [
        (A4.name, "", 300),
        (A4.name, "edge", 300),
        (LETTER.name, "tile", 600),
        ("tags", "", 203),
        ("tags", "stem", 300),
    ],
)
@pytest.mark.parametrize(("over", "high"), [(1000, 1000), (994, 985), (1012, 1004)])
def test_what_is_kept_is_what_comes_out_of_the_printer(
    grower: Person, stock: str, form: str, dpi: int, over: int, high: int
) -> None:
    add_stock("tags", measures=TAGS, form="plain", by=grower)
    stretched(grower, stock, across=over, down=high, dpi=dpi)
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=stock, form=form)
    width, height = symbol_sent(run)
    printed = (width * over / 1000 * height * high / 1000) ** 0.5
    assert float(run.symbol_mm) == pytest.approx(printed, rel=0.001)
    assert PrintedSize.objects.get(code=frag.code_id).symbol_mm == run.symbol_mm


def test_the_frame_is_where_the_rule_has_it(grower: Person) -> None:
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=LETTER.name)
    pdf = run_pdf(run)
    ((found,),) = symbols_of(pdf, dpi=DPI)
    page = seen_page(pdf, dpi=DPI)
    x, y = ((value + 0.5) * 25.4 / DPI for value in found.corners[0])
    frame = LabelFrame(float(run.symbol_mm), 25)
    inner, outer = frame.inner, frame.outer
    # The line's ink between the two squares, looked at across its left side and its top.
    for seen, at, along in ((page, x, y), (page.turned(), y, x)):
        strip = Box(at + outer.left_mm - 0.5, along + 2, inner.left_mm - outer.left_mm + 1, 5)
        ink_mm = seen.part(strip).mean(axis=0)
        middle = (ink_mm * range(len(ink_mm))).sum() / ink_mm.sum()
        assert ink_mm.sum() / seen.across == pytest.approx(0.4, abs=0.01)
        wanted = 0.5 + (inner.left_mm - outer.left_mm) / 2
        assert (middle + 0.5) / seen.across == pytest.approx(wanted, abs=0.06)


def test_sheets_whose_size_would_be_another_are_not_printed_again_as_they_are(
    grower: Person,
) -> None:
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=A4.name)
    assert run.symbol_mm == Decimal("16.93")
    stretched(grower, A4.name, across=990, down=990)
    with pytest.raises(Conflict, match=r"kept as 16\.93 mm.*come out 16\.76 mm.*“Print again”"):
        run_pdf(run)
    again = print_again(run.pk, by=grower)
    assert again.symbol_mm == Decimal("16.76")
    assert run_pdf(again)


def test_less_than_one_in_a_thousand_is_the_same_size(grower: Person) -> None:
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=A4.name)
    stretched(grower, A4.name, across=1000, down=999)
    assert run_pdf(run)


def narrow(width_um: int) -> StockMeasures:
    """Return a roll whose labels are so wide."""
    return roll_measures(width_um=width_um, height_um=20_000, gap_um=3_000)


def test_every_size_at_which_a_code_was_printed_stays_known(
    grower: Person, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    house = Organisation.objects.get()
    one, other, never = (frag.code_id for frag in make_frags(grower, 3))
    add_stock("tiles", measures=narrow(40_000), form="tile", by=grower)
    small = start_run([one], by=grower, stock="tiles")
    change_stock("tiles", measures=narrow(60_000), form="tile", by=grower)
    large = start_run([one, other], by=grower, stock=A4.name)
    start_run([one], by=grower, stock=LETTER.name)
    house.label_host = "A-LONGER-HOST.TEST"
    house.save(update_fields=["label_host"])
    longer = start_run([one], by=grower, stock=LETTER.name)
    with django_assert_num_queries(1):
        found = symbol_sizes([one, other, never])
    assert found[one] == (
        SymbolSize(float(longer.symbol_mm), 29),
        SymbolSize(float(large.symbol_mm), 25),
        SymbolSize(float(small.symbol_mm), 25),
    )
    assert small.symbol_mm < large.symbol_mm < longer.symbol_mm
    assert found[other] == (SymbolSize(float(large.symbol_mm), 25),)
    assert found[never] == ()
    assert symbol_sizes(["7K3Q9FN"]) == {}
