"""Bringing in tables of running costs."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Party, Person
from fraginv.base.rules.columns import column_lines
from fraginv.base.rules.loads import LoadResult
from fraginv.base.tables import TableErrors, read_table
from fraginv.costs.actions import add_bill
from fraginv.costs.loading import columns, load
from fraginv.costs.models import Bill, CostKind
from fraginv.costs.queries import cost_differences, costs_of_month
from fraginv.costs.rules import BillItem
from fraginv.ledger.models import Account, Entry
from fraginv.ledger.queries import ledger_differences

HEADINGS = "day,kind,supplier,amount,serves,note\n"
TABLE = (
    HEADINGS + "2025-12-30,Electricity,Harbour Power,120.50,,December\n"
    "2026-01-05,electricity,harbour power,99.99,shared,\n"
    "2026-01-06,Plugs and glue,,12,frags,\n"
    "2026-01-07,Salt,Harbour Salt,0.01,display,\n"
)

pytestmark = pytest.mark.usefixtures("frozen")


def bring(text: str, *, by: Person, dry_run: bool = False) -> LoadResult:
    """Read a table and bring it in."""
    return load(read_table(text.encode(), columns=columns()), by=by, dry_run=dry_run)


def test_rows_become_paid_bills_of_their_own_series(manager: Person) -> None:
    own = add_bill([BillItem("Salt", 5)], day=date(2026, 1, 5), by=manager).bill
    result = bring(TABLE, by=manager)
    assert result.rows == 4
    assert [text.split(". ")[0] for text in result.said] == [
        "New kind of cost: Electricity, Plugs and glue",
        "New supplier: Harbour Power, Harbour Salt",
    ]
    bills = list(Bill.objects.filter(imported=True).order_by("pk"))
    assert [bill.label for bill in bills] == [
        "BI-2025-0001",
        "BI-2026-0001",
        "BI-2026-0002",
        "BI-2026-0003",
    ]
    assert own.label == "B-2026-0001"
    assert {(bill.settled, bill.paid_by) for bill in bills} == {("paid", "transfer")}
    assert [bill.paid_on for bill in bills] == [bill.day for bill in bills]
    assert bills[0].supplier == bills[1].supplier
    assert (bills[0].note, bills[2].supplier) == ("December", None)
    january = costs_of_month(202601)
    assert january.display_by_kind == {"Electricity": 5_000, "Salt": 6}
    assert january.direct_by_kind == {"Electricity": 4_999, "Plugs and glue": 1_200}
    assert not [*ledger_differences(), *cost_differences()]


def test_optional_columns_may_be_left_out(manager: Person) -> None:
    assert bring("amount,day,kind\n5.00,2026-01-05,Salt\n", by=manager).rows == 1
    assert costs_of_month(202601).display_by_kind == {"Salt": 500}


def test_dry_run_says_the_same_and_writes_nothing(manager: Person) -> None:
    tried = bring(TABLE, by=manager, dry_run=True)
    for model in (Bill, CostKind, Party, Entry):
        assert not model.objects.exists()
    assert not Account.objects.filter(part="running").exists()
    assert bring(TABLE, by=manager) == tried


@pytest.mark.parametrize(
    ("row", "problem"),
    [
        ("2026-01-05,Salt,,0,,", "line 3, amount: 0 is less than 0.01"),
        ("2026-01-05,Salt,,-5,,", "line 3, amount: -5 is less than 0.01"),
        ('2026-01-05,Salt,,"1,250.00",,', "line 3, amount: 1,250.00 has thousands separators"),
        ("2026-01-05,Salt,,1e3,,", "line 3, amount: 1e3 is not an amount"),
        ("2026-01-05,Salt,,99999999999999,,", "line 3, amount: 99999999999999 is too large"),
        ("2026-11-26,Salt,,5,,", "line 3, day: The day 2026-11-26 is in the future"),
        ("2026-13-01,Salt,,5,,", "line 3, day: There is no day 2026-13-01"),
        ("1066-10-14,Salt,,5,,", "line 3, day: The day 1066-10-14 is before 1990"),
        ("2026-01-05,,,5,,", "line 3, kind: the cell is empty"),
        ("2026-01-05,=Salt,,5,,", "line 3, kind: =Salt starts like a formula"),
        ("2026-01-05,Salt,,5,sharks,", "line 3, serves: sharks is not one of: display, frags"),
        (f"2026-01-05,Salt,{'x' * 121},5,,", "line 3, supplier: The text has 121 characters"),
    ],
)
def test_bad_row_is_named_and_nothing_is_written(manager: Person, row: str, problem: str) -> None:
    table = f"{HEADINGS}2026-01-05,Food,Harbour Food,5,,\n{row}\n"
    with pytest.raises(TableErrors) as caught:
        bring(table, by=manager)
    assert problem in caught.value.message
    for model in (Bill, CostKind, Party, Entry):
        assert not model.objects.exists()


def test_every_bad_day_is_named(manager: Person) -> None:
    table = "day,kind,amount\n" + "2026-12-24,Salt,5\n" * 3
    with pytest.raises(TableErrors) as caught:
        bring(table, by=manager)
    assert [problem.line for problem in caught.value.problems] == [2, 3, 4]


def test_columns_are_those_of_the_table(organisation: object) -> None:
    names = [column.name for column in columns()]
    assert names == ["day", "kind", "supplier", "amount", "serves", "note"]
    optional = [line for line in column_lines(columns()) if "may be left out" in line]
    assert [line.split(":")[0] for line in optional] == ["supplier", "serves", "note"]


def test_statements_grow_with_thousands_not_with_rows(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    rows = "".join(f"2026-01-05,Salt,Shop {place},5,,\n" for place in range(200))
    with django_assert_max_num_queries(60):
        assert bring(HEADINGS + rows, by=manager).rows == 200


def test_many_new_names_are_said_in_short(manager: Person) -> None:
    rows = "".join(f"2026-01-05,Kind {place:02d},,5,,\n" for place in range(12))
    (said,) = bring(HEADINGS + rows, by=manager).said
    assert said.startswith("New kind of cost: Kind 00, Kind 01, ")
    assert "Kind 09 and 2 more." in said
