"""Printers written down, measured, and withdrawn."""

from dataclasses import replace

import pytest

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import (
    add_printer,
    adjust_stock,
    measure_printer,
    withdraw_printer,
)
from fraginv.labels.models import Printer
from fraginv.labels.queries.runs import run_pdf
from fraginv.labels.queries.stocks import correction_of, get_printer, printers_in_use
from fraginv.labels.rules.fitting import FRAME_MM, fit_symbol
from fraginv.labels.rules.forms import EDGE_MM
from fraginv.labels.rules.printers import Check, Measures
from fraginv.labels.rules.stocks import A4
from tests.base.papers import symbols_of
from tests.factories import make_frags

OFF = Measures(across_tenths=992, down_tenths=1006, left_tenths=208, top_tenths=193)


def test_a_printer_is_true_until_it_was_measured(grower: Person) -> None:
    printer = add_printer("  Office   printer ", by=grower)
    assert (printer.name, printer.dpi, printer.measured_at) == ("Office printer", 300, None)
    assert correction_of(printer).is_none


def test_what_was_measured_is_kept_and_sets_right_what_is_printed(grower: Person) -> None:
    printer = add_printer("Office", by=grower)
    adjust_stock(A4.name, printer_id=printer.pk, by=grower)
    measure_printer(printer.pk, measures=OFF, check=Check(), by=grower)
    kept = get_printer(printer.pk)
    assert (kept.across_tenths, kept.left_tenths, kept.measured_by) == (992, 208, grower)
    assert kept.measured_at is not None
    assert kept.measured_at <= clock.now()

    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=A4.name)
    x, y = symbols_of(run_pdf(run), dpi=600)[0][0].corners[0]
    # Where this printer would put what is sent: stretched, and shifted by what the corner of
    # its check sheet was off, 20.8 - 0.992 × 20 and 19.3 - 1.006 × 20 mm.
    put_x = 0.992 * (x + 0.5) * 25.4 / 600 + 20.8 - 0.992 * 20
    put_y = 1.006 * (y + 0.5) * 25.4 / 600 + 19.3 - 1.006 * 20
    fit = fit_symbol(A4, host="REEF.TEST")
    inner = FRAME_MM + 4 * fit.module_mm
    assert put_x == pytest.approx(A4.left_mm + EDGE_MM + inner, abs=0.15)
    middle = A4.top_mm + (A4.height_mm - fit.box_mm) / 2
    assert put_y == pytest.approx(middle + inner, abs=0.25)


def test_the_dots_of_a_printer_make_the_modules(grower: Person) -> None:
    coarse = add_printer("Labels", dpi=203, by=grower)
    adjust_stock(A4.name, printer_id=coarse.pk, by=grower)
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=A4.name)
    # 25 modules of 5 dots, of which 203 make an inch: 15.64 mm.
    assert float(run.symbol_mm) == pytest.approx(25 * 5 * 25.4 / 203, abs=0.01)


def test_measures_that_cannot_be_change_nothing(grower: Person) -> None:
    printer = add_printer("Office", by=grower)
    with pytest.raises(InputError, match="true size"):
        measure_printer(
            printer.pk, measures=replace(OFF, across_tenths=960), check=Check(), by=grower
        )
    assert get_printer(printer.pk).measured_at is None


def test_measures_with_which_labels_would_be_cut_off_change_nothing(grower: Person) -> None:
    printer = add_printer("Office", by=grower)
    adjust_stock(A4.name, printer_id=printer.pk, by=grower)
    far = replace(OFF, left_tenths=290)
    with pytest.raises(InputError, match=r"a4-63\.5x33\.9: .* cut off at the left"):
        measure_printer(printer.pk, measures=far, check=Check(), by=grower)
    assert get_printer(printer.pk).measured_at is None
    measure_printer(printer.pk, measures=OFF, check=Check(), by=grower)


@pytest.mark.parametrize(
    ("name", "dpi", "message"),
    [("", 300, "1 to 40"), ("x" * 41, 300, "1 to 40"), ("a", 100, "150 to 2,400")],
)
def test_a_printer_that_cannot_be_is_refused(
    grower: Person, name: str, dpi: int, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        add_printer(name, dpi=dpi, by=grower)
    assert not Printer.objects.exists()


def test_a_name_is_given_once(grower: Person) -> None:
    add_printer("Office", by=grower)
    with pytest.raises(Conflict, match="There is a printer office already"):
        add_printer("office", by=grower)


def test_a_printer_is_withdrawn_once_nothing_is_printed_on_it(grower: Person) -> None:
    printer = add_printer("Office", by=grower)
    adjust_stock(A4.name, printer_id=printer.pk, by=grower)
    with pytest.raises(Conflict, match="a4-63.5x33.9 is printed on Office. Choose another"):
        withdraw_printer(printer.pk, by=grower)
    adjust_stock(A4.name, printer_id=None, by=grower)
    withdraw_printer(printer.pk, by=grower)
    assert printers_in_use() == []
    with pytest.raises(Conflict, match="Office is used no more"):
        adjust_stock(A4.name, printer_id=printer.pk, by=grower)
    withdraw_printer(printer.pk, by=grower, again=True)
    assert printers_in_use() == [printer]


def test_a_printer_that_is_not_there_is_said(grower: Person) -> None:
    with pytest.raises(NotFound, match="no such printer"):
        measure_printer(99, measures=OFF, check=Check(), by=grower)
    with pytest.raises(NotFound, match="no such printer"):
        adjust_stock(A4.name, printer_id=99, by=grower)
