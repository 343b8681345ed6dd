"""Stocks of the organisation's own: what can be, what cannot, and what is printed on them."""

from dataclasses import replace
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from hypothesis import given
from hypothesis import strategies as st

from fraginv.base.errors import Conflict, FraginvError, InputError, NotFound
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.codes import read_code
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_stock, adjust_stock, change_stock, withdraw_stock
from fraginv.labels.models import Adjustment, OwnStock
from fraginv.labels.queries.runs import run_pdf
from fraginv.labels.queries.stocks import columns_of, stock_called, stocks_in_use
from fraginv.labels.rules.forms import FORM_NAMES
from fraginv.labels.rules.measures import (
    StockMeasures,
    check_stock,
    read_stock_name,
    roll_measures,
    stock_from,
)
from fraginv.labels.rules.stocks import A4, STOCKS
from tests.base.papers import page_sizes_mm, symbols_of
from tests.factories import make_frags

# As on an A4 sheet of 2 by 7 labels of 99.1 by 38.1 mm: common practice, no source. The rows
# touch, the columns have 2.5 mm between them.
SHEET = StockMeasures(
    is_roll=False,
    page_width_um=210_000,
    page_height_um=297_000,
    width_um=99_100,
    height_um=38_100,
    columns=2,
    rows=7,
    left_um=4_650,
    top_um=15_150,
    pitch_x_um=101_600,
    pitch_y_um=38_100,
)
ROLL = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)


def add(by: Person, name: str = "own-99x38", /, **changes: Any) -> OwnStock:
    """Write a sheet down."""
    form = changes.pop("form", "plain")
    return add_stock(name, measures=replace(SHEET, **changes), form=form, by=by)


def test_an_own_stock_is_offered_and_printed_on(grower: Person) -> None:
    add(grower, form="bag")
    assert [stock.name for stock in stocks_in_use()] == [*STOCKS, "own-99x38"]
    codes = [frag.code_id for frag in make_frags(grower, 15)]
    run = start_run(codes, by=grower, stock=" OWN-99x38 ")
    assert (run.stock, run.form) == ("own-99x38", "bag")
    pdf = run_pdf(run)
    assert page_sizes_mm(pdf) == [(210, 297)] * 2
    assert [len(page) for page in symbols_of(pdf)] == [14, 1]


def test_a_roll_gives_a_page_a_label_and_skips_none(grower: Person) -> None:
    add_stock("bag-80x50", measures=ROLL, form="bag", by=grower)
    codes = [frag.code_id for frag in make_frags(grower, 3)]
    pdf = run_pdf(start_run(codes, by=grower, stock="bag-80x50"))
    assert page_sizes_mm(pdf) == [(80, 53)] * 3
    assert [read_code(page[0].text) for page in symbols_of(pdf)] == codes
    with pytest.raises(InputError, match="A roll has no sheet of which labels are gone"):
        start_run(codes, by=grower, stock="bag-80x50", skip=1)


def test_a_roll_takes_as_many_as_somebody_waits_for(grower: Person) -> None:
    add_stock("bag-80x50", measures=ROLL, form="bag", by=grower)
    with pytest.raises(InputError, match="601 labels on a roll at once: ask for up to 600"):
        start_run((), blank=601, by=grower, stock="bag-80x50")
    assert start_run((), blank=600, by=grower, stock="bag-80x50").count == 600
    assert start_run((), blank=601, by=grower).count == 601


def test_the_form_can_be_chosen_for_one_print(grower: Person) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 2)]
    run = start_run(codes, by=grower, stock=A4.name, form="flag")
    assert run.form == "flag"
    assert len(symbols_of(run_pdf(run))[0]) == 4
    with pytest.raises(InputError, match="no form “round”. Use one of: plain, edge"):
        start_run(codes, by=grower, form="round")


def test_changed_measures_hold_for_old_runs_too(grower: Person) -> None:
    add(grower)
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock="own-99x38")
    before = symbols_of(run_pdf(run))[0][0].corners[0]
    change_stock("own-99x38", measures=replace(SHEET, left_um=6_000), form="plain", by=grower)
    after = symbols_of(run_pdf(run))[0][0].corners[0]
    # 1.35 mm are 16 dots of 300 to the inch.
    assert after[0] - before[0] == pytest.approx(16, abs=1)


def test_a_withdrawn_stock_is_not_offered_but_old_runs_stay(grower: Person) -> None:
    add(grower)
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock="own-99x38")
    withdraw_stock("own-99x38", by=grower)
    with pytest.raises(InputError, match="no label stock “own-99x38”"):
        start_run([frag.code_id], by=grower, stock="own-99x38")
    assert len(symbols_of(run_pdf(run))[0]) == 1
    withdraw_stock("own-99x38", by=grower, again=True)
    assert stock_called("own-99x38").name == "own-99x38"


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"pitch_x_um": 98_000}, "overlap: each is 99.1 mm wide.*begins 98 mm further"),
        ({"pitch_y_um": 38_000}, "one under the other overlap: each is 38.1 mm high"),
        ({"left_um": 10_000}, "end 0.7 mm beyond the page's right edge: look at the margin"),
        ({"rows": 8}, "end 22.95 mm beyond the page's bottom edge"),
        ({"columns": 0}, "1 to 30 labels across"),
        ({"rows": 61}, "1 to 60 down"),
        ({"page_height_um": 600_000}, "up to 500 mm"),
        ({"width_um": 9_000}, "at least 10 mm"),
        ({"height_um": 12_000, "pitch_y_um": 38_100}, "too low for the form"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused_with_what_to_look_at(
    grower: Person, changes: dict[str, Any], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        add(grower, **changes)
    assert not OwnStock.objects.exists()
    add(grower)


def test_labels_too_small_for_a_form_are_refused_for_that_form_alone(grower: Person) -> None:
    small = roll_measures(width_um=30_000, height_um=30_000, gap_um=3_000)
    with pytest.raises(InputError, match="too small for the form “Bag label”"):
        add_stock("tile-30", measures=small, form="bag", by=grower)
    add_stock("tile-30", measures=small, form="tile", by=grower)


@pytest.mark.parametrize(
    "name", ["", "a", "Ä4", "a/b", "-bag", "bag-", "x" * 41, "add", "a4-63.5x33.9", "<b>"]
)
def test_names_that_cannot_be_are_refused(name: str) -> None:
    with pytest.raises(InputError, match="cannot be a stock's name|is taken by the house"):
        read_stock_name(name)


def test_names_are_kept_in_small_letters() -> None:
    assert read_stock_name("  Bag 80x50 ") == "bag-80x50"


def test_a_name_is_given_once(grower: Person) -> None:
    add(grower)
    withdraw_stock("own-99x38", by=grower)
    with pytest.raises(Conflict, match="There is a stock own-99x38 already"):
        add(grower, "OWN-99x38")


@pytest.mark.parametrize("form", FORM_NAMES)
def test_every_form_can_be_kept(grower: Person, form: str) -> None:
    add(grower, form=form)
    assert OwnStock.objects.get().form == form


def test_what_is_not_there_is_said(grower: Person) -> None:
    for act in (
        lambda: change_stock("none", measures=SHEET, form="plain", by=grower),
        lambda: withdraw_stock("none", by=grower),
        lambda: adjust_stock("none", printer_id=None, by=grower),
    ):
        with pytest.raises(NotFound, match="no such label stock"):
            act()
    with pytest.raises(InputError, match="no form “round”"):
        add(grower, form="round")


@pytest.mark.parametrize(
    "changes",
    [
        {"left_um": 10_000},
        {"rows": 8},
        {"pitch_x_um": 98_000},
        {"columns": 0},
        {"is_roll": True},
    ],
)
def test_the_table_itself_refuses_what_cannot_be(grower: Person, changes: dict[str, Any]) -> None:
    own = add(grower)
    with pytest.raises(IntegrityError), transaction.atomic():
        OwnStock.objects.filter(pk=own.pk).update(**changes)
    with pytest.raises(IntegrityError), transaction.atomic():
        OwnStock.objects.filter(pk=own.pk).update(form="round")


@given(
    st.integers(10_000, 120_000),
    st.integers(10_000, 120_000),
    st.integers(1, 8),
    st.integers(1, 8),
    st.integers(0, 30_000),
    st.integers(-5_000, 20_000),
)
def test_what_is_taken_lies_on_the_page_and_apart(
    width: int, height: int, columns: int, rows: int, margin: int, gap: int
) -> None:
    measures = replace(
        SHEET,
        width_um=width,
        height_um=height,
        columns=columns,
        rows=rows,
        left_um=margin,
        top_um=margin,
        pitch_x_um=width + gap,
        pitch_y_um=height + gap,
    )
    stock = stock_from(measures, name="x", form="plain")
    places = [stock.place(index) for index in range(stock.per_sheet)]
    fits = all(
        place.x_mm + stock.width_mm <= 210 + 1e-9 and place.y_mm + stock.height_mm <= 297 + 1e-9
        for place in places
    ) and (gap >= 0 or len(places) == 1)
    try:
        check_stock(measures)
        taken = True
    except FraginvError:
        taken = False
    assert taken == fits


def test_measures_are_kept_to_the_thousandth_of_a_millimetre(grower: Person) -> None:
    own = add(grower, left_um=4_651)
    assert {name: getattr(own, name) for name in columns_of(SHEET)} == columns_of(
        replace(SHEET, left_um=4_651)
    )


def test_an_offset_moves_what_is_printed(grower: Person, organisation: Organisation) -> None:
    (frag,) = make_frags(grower, 1)
    run = start_run([frag.code_id], by=grower, stock=A4.name)
    before = symbols_of(run_pdf(run), dpi=600)[0][0].corners[0]
    adjust_stock(A4.name, printer_id=None, right_tenths=7, down_tenths=-5, by=grower)
    adjust_stock(A4.name, printer_id=None, right_tenths=12, down_tenths=-5, by=grower)
    after = symbols_of(run_pdf(run), dpi=600)[0][0].corners[0]
    assert Adjustment.objects.count() == 1
    assert (after[0] - before[0]) * 25.4 / 600 == pytest.approx(1.2, abs=0.05)
    assert (after[1] - before[1]) * 25.4 / 600 == pytest.approx(-0.5, abs=0.05)


@pytest.mark.parametrize(
    ("right", "message"), [(101, "cannot be moved 10.1 mm right"), (90, "cut off at the right")]
)
def test_an_offset_that_goes_too_far_is_refused(grower: Person, right: int, message: str) -> None:
    with pytest.raises(InputError, match=message):
        adjust_stock(A4.name, printer_id=None, right_tenths=right, by=grower)
    assert not Adjustment.objects.exists()
