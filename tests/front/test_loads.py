"""Templates out and tables in: what is written is what is read."""

import io
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from fraginv.base.errors import Conflict
from fraginv.base.models import Organisation, Person, TableLoad
from fraginv.base.rules.columns import Column
from fraginv.base.rules.csv_text import Cell
from fraginv.base.rules.money import decimal_text
from fraginv.base.rules.problems import TableErrors
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.tables import read_table, write_csv, write_xlsx
from fraginv.costs.models import Bill
from fraginv.front.load_kinds import KINDS, TABLES, Table
from fraginv.front.loads import bring_in, look, read, template
from fraginv.stock.rules.typed import STAGES
from tests.factories import make_variety

ENDINGS = ("csv", "xlsx")
YEAR_FIRST = DayOrder.YEAR_FIRST
TEXT = st.text(
    st.characters(codec="utf-8", categories=("L", "N"), include_characters=" -'.&,;\""),
    min_size=1,
    max_size=30,
).filter(lambda text: text.strip() and not text.strip().startswith(("-", "'")))


def cells_for(column: Column) -> st.SearchStrategy[Cell]:
    """Return what may stand in a column, by what it says that it takes."""
    hint = column.hint
    if column.is_day:
        return st.dates(min_value=date(1990, 1, 1), max_value=date(2026, 12, 31))
    if hint.startswith("one of: "):
        return st.sampled_from(hint.removeprefix("one of: ").partition(";")[0].split(", "))
    if hint.startswith("an amount"):
        return st.integers(1, 10**7).map(lambda minor: Decimal(decimal_text(minor, currency="USD")))
    if hint.startswith("a fraction"):
        return st.integers(0, 10_000).map(lambda part: Decimal(part) / 10_000)
    if hint.startswith(("a whole number from", "a number in")):
        least, most = (int(word) for word in hint.split() if word.isdigit())
        return st.integers(least, most)
    if hint.startswith("an hour"):
        return st.times().map(lambda time: f"{time:%H:%M}")
    return st.just("ada@driftwood.example") if "e-mail" in hint else TEXT


def tables_of(columns: list[Column]) -> st.SearchStrategy[list[list[Cell]]]:
    """Return rows of cells for columns; what need not be filled may be empty."""
    cells = [
        cells_for(column) if column.filled else st.none() | cells_for(column) for column in columns
    ]
    rows = st.tuples(*cells).map(list).filter(any)
    return st.lists(rows, min_size=1, max_size=4)


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.kind)
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_what_is_written_under_the_headings_of_a_template_is_read_back(
    organisation: Organisation, table: Table, data: st.DataObject
) -> None:
    columns = table.columns()
    names = [column.name for column in columns]
    rows = data.draw(tables_of(columns))
    as_csv = read_table(write_csv(names, rows), columns=columns)
    as_xlsx = read_table(write_xlsx(names, rows), columns=columns)
    assert [row.values for row in as_csv] == [row.values for row in as_xlsx]
    # Written once more from what was understood, it is understood as the same.
    shown = [[column.show(row[column.name]) for column in columns] for row in as_csv]
    again = read_table(write_csv(names, shown), columns=columns)
    assert [row.values for row in again] == [row.values for row in as_csv]


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.kind)
@pytest.mark.parametrize("ending", ENDINGS)
def test_an_example_row_is_in_order_and_is_left_out(
    organisation: Organisation, manager: Person, table: Table, ending: str
) -> None:
    data = template(table, ending=ending)
    columns = table.columns()
    (example,) = read_table(data, columns=columns)
    assert set(table.example) <= {column.name for column in columns}
    assert any(example[column.name] != column.empty for column in columns)
    with pytest.raises(TableErrors, match="only the example row of the template stands here"):
        read(table, data, days=YEAR_FIRST)
    assert look(table, data, days=YEAR_FIRST, by=manager).problems


def test_the_example_row_may_stay_above_ones_own(organisation: Organisation) -> None:
    data = template(KINDS["costs"], ending="csv") + b"2026-01-09,Salt,,88.50,,\r\n"
    found = read(KINDS["costs"], data, days=YEAR_FIRST)
    assert [row["amount"] for row in found.rows] == [8850]
    assert found.said == ["Line 2 is the example row of the template and is left out."]


def test_all_that_is_wrong_with_a_row_is_said_at_once(manager: Person) -> None:
    make_variety(manager, name="Pier Moss")
    data = (
        b"variety,cut_on,rack,size,stage\r\n"
        b"Pier Mos,20.02.26,Nowhere,huge,ready\r\n"
        b"Pier Moss,2026-02-20,,M,ready\r\n"
        b"Pier Moss,2026-02-20,Nowhere,M,ready\r\n"
    )
    found = look(KINDS["frags"], data, days=YEAR_FIRST, by=manager).problems
    assert [(one.line, one.column) for one in found] == [
        *((2, name) for name in ("cut_on", "size", "variety", "rack")),
        (4, "rack"),
    ]
    template_above = (
        template(KINDS["frags"], ending="csv") + b"Pier Moss,,,,,huge" + b"," * 8 + b"\r\n"
    )
    found = look(KINDS["frags"], template_above, days=YEAR_FIRST, by=manager).problems
    assert [(one.line, one.column) for one in found] == [(3, "size")]


def test_a_template_has_days_as_days_and_amounts_as_numbers(organisation: Organisation) -> None:
    sheet = load_workbook(io.BytesIO(template(KINDS["prices"], ending="xlsx"))).active
    heads = [cell.value for cell in sheet[1]]
    row: dict[str, Any] = dict(zip(heads, sheet[2], strict=True))
    assert row["amount"].value == 12.5
    assert row["first_day"].is_date
    assert row["kind"].data_type == "s"


def test_stages_are_those_of_living_frags() -> None:
    assert list(STAGES) == ["healing", "growing", "ready"]


COSTS = b"day,kind,amount\n2026-01-05,Power,420.00\n"


def test_the_same_rows_are_known_in_any_file(manager: Person) -> None:
    table = KINDS["costs"]
    first = read(table, COSTS, days=YEAR_FIRST)
    bring_in(first, name="costs.csv", by=manager)
    book = write_xlsx(
        ["note", "kind", "amount", "day"], [["", "Power", Decimal("420.0"), date(2026, 1, 5)]]
    )
    same = read(table, book, days=YEAR_FIRST)
    assert same.mark == first.mark
    with pytest.raises(Conflict, match="These very rows were brought in on .* from costs.csv"):
        bring_in(same, name="copy.xlsx", by=manager)
    with pytest.raises(Conflict, match="These very rows"):
        bring_in(same, name="copy.xlsx", by=manager, dry_run=True)
    assert Bill.objects.count() == 1
    bring_in(same, name="copy.xlsx", by=manager, knowingly=True)
    assert list(TableLoad.objects.order_by("pk").values_list("again", "name")) == [
        (0, "costs.csv"),
        (1, "copy.xlsx"),
    ]


def test_other_rows_in_another_order_are_other_rows(organisation: Organisation) -> None:
    table = KINDS["costs"]
    other = COSTS + b"2026-01-09,Salt,88.50\n"
    marks = {read(table, data, days=YEAR_FIRST).mark for data in (COSTS, other)}
    assert len(marks) == 2


def test_a_trial_leaves_no_trace(manager: Person) -> None:
    found = read(KINDS["costs"], COSTS, days=YEAR_FIRST)
    bring_in(found, name="costs.csv", by=manager, dry_run=True)
    assert not TableLoad.objects.exists()
    assert not Bill.objects.exists()
    bring_in(found, name="costs.csv", by=manager)


def test_a_file_of_this_machine_is_read_too(organisation: Organisation, tmp_path: Path) -> None:
    file = tmp_path / "costs.csv"
    file.write_bytes(COSTS)
    assert len(read(KINDS["costs"], file, days=YEAR_FIRST).rows) == 1
