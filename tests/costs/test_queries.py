"""The month's costs, and what does not agree, on a real database."""

from collections import Counter
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection, models
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import InputError
from fraginv.base.models import NumberSeries, Person
from fraginv.costs.actions import add_bill, enter_bills, pay_bill
from fraginv.costs.models import Bill, BillLine
from fraginv.costs.queries import (
    bills_of_month,
    cost_differences,
    costs_of_month,
    get_bill,
    kinds_known,
    suppliers_known,
)
from fraginv.costs.rules import BillDraft, BillItem, Serves, Settled
from fraginv.ledger.models import Entry, Line
from fraginv.ledger.queries import account_totals, ledger_differences

MAY, JUNE = date(2026, 5, 12), date(2026, 6, 3)

pytestmark = pytest.mark.usefixtures("frozen")


def bill(by: Person, kind: str, amount: int, **given: Any) -> Bill:
    """Enter a bill of one kind in May, or as given."""
    return add_bill([BillItem(kind, amount)], **{"day": MAY, "by": by, **given}).bill


@pytest.fixture
def bills(manager: Person) -> list[Bill]:
    """Bills of May and June, in all the ways that a bill can stand."""
    return [
        bill(manager, "Electricity", 10_000),
        bill(manager, "electricity", 5_000, serves="shared", display_share=Decimal("0.8")),
        bill(manager, "Salt", 3_000, settled="owed"),
        bill(manager, "Plugs", 700, serves="frags"),
        bill(manager, "Lamp", 4_000, settled="in_kind"),
        bill(manager, "Lamp", 1_001, settled="in_kind", serves="shared"),
        bill(manager, "Food", 999, day=JUNE),
    ]


def test_costs_of_a_month_are_one_statement(
    bills: list[Bill], django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(1):
        may = costs_of_month(202605, basis="sales")
    assert may.display_by_kind == {"Electricity": 14_000, "Salt": 3_000}
    assert may.direct_by_kind == {"Electricity": 1_000, "Plugs": 700}
    assert (may.display_total, may.direct_total) == (17_000, 1_700)
    assert (may.in_kind, may.in_kind_direct) == (4_501, 500)
    assert not may.is_empty
    assert costs_of_month(202604, basis="sales").is_empty


def test_cash_basis_counts_what_was_paid(bills: list[Bill], manager: Person) -> None:
    assert costs_of_month(202605, basis="cash").display_by_kind == {"Electricity": 14_000}
    pay_bill(bills[2].pk, by=manager, day=JUNE)
    assert "Salt" not in costs_of_month(202605, basis="cash").display_by_kind
    june = costs_of_month(202606, basis="cash")
    assert june.display_by_kind == {"Food": 999, "Salt": 3_000}
    assert costs_of_month(202606, basis="sales").display_by_kind == {"Food": 999}
    assert costs_of_month(202605, basis="cash").in_kind == 4_501
    with pytest.raises(InputError, match="Use sales or cash"):
        costs_of_month(202605, basis="tides")


def test_the_same_figures_come_from_the_entries(bills: list[Bill]) -> None:
    may = costs_of_month(202605)
    totals = account_totals(202605)
    assert {r.name: r.total for r in totals if r.part == "running"} == may.display_by_kind
    assert {r.name: r.total for r in totals if r.part == "direct"} == may.direct_by_kind
    assert {r.code: r.total for r in totals}["7000"] == may.in_kind


def test_list_and_page_read_the_same_few_statements(
    bills: list[Bill], manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(5):
        bill(manager, "Salt", 10, supplier="Harbour Salt")
    with django_assert_max_num_queries(3):
        rows = bills_of_month(202605, size=50).rows
        shown = [(row.supplier, [line.kind.name for line in row.lines.all()]) for row in rows]
    assert len(shown) == 11
    assert rows[0].label == "B-2026-0012"
    with django_assert_max_num_queries(3):
        one = get_bill(rows[0].pk)
        assert [line.kind.name for line in one.lines.all()] == ["Salt"]
        assert one.entry.label == "2026-00012"
        assert one.by.name == manager.name
    with django_assert_max_num_queries(2):
        assert kinds_known() == ["Electricity", "Food", "Lamp", "Plugs", "Salt"]
        assert suppliers_known() == ["Harbour Salt"]


DRAFTS = st.lists(
    st.builds(
        BillDraft,
        items=st.lists(
            st.builds(
                BillItem,
                kind=st.sampled_from(["Salt", "Food", "Electricity"]),
                amount=st.integers(1, 10**9),
            ),
            min_size=1,
            max_size=3,
        ).map(tuple),
        day=st.sampled_from([MAY, JUNE]),
        serves=st.sampled_from(Serves),
        display_share=st.decimals(0, 1, places=4),
        settled=st.sampled_from(Settled),
        paid_by=st.sampled_from(["transfer", "cash"]),
    ),
    min_size=1,
    max_size=8,
)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(DRAFTS)
def test_any_bills_balance_and_their_kinds_sum_to_the_whole(
    manager: Person, drafts: list[BillDraft]
) -> None:
    before = Counter[str]()
    for month in (202605, 202606):
        before.update(figures(month))
    enter_bills(drafts, by=manager)
    assert not [*ledger_differences(), *cost_differences()]
    after = Counter[str]()
    for month in (202605, 202606):
        after.update(figures(month))
    after.subtract(before)
    money = [draft for draft in drafts if draft.settled != Settled.IN_KIND]
    assert after["money"] == sum(draft.amount for draft in money)
    assert after["given"] == sum(draft.amount for draft in drafts) - after["money"]


def figures(month: int) -> dict[str, int]:
    """Return what a month's costs come to."""
    costs = costs_of_month(month)
    return {
        "money": costs.display_total + costs.direct_total,
        "given": costs.in_kind + costs.in_kind_direct,
    }


def found() -> list[str]:
    """Return what does not agree, as text."""
    return [str(difference) for difference in cost_differences()]


def rows_of(model: type[models.Model]) -> "models.QuerySet[models.Model]":
    """Reach past the guard that keeps posted rows as they are, as a fault would."""
    return models.QuerySet(model)


def test_sound_bills_have_no_differences(bills: list[Bill], manager: Person) -> None:
    assert found() == []
    pay_bill(bills[2].pk, by=manager)
    assert found() == []


def test_wrong_total_is_found(bills: list[Bill]) -> None:
    Bill.objects.filter(pk=bills[0].pk).update(amount=9_999)
    assert found() == [
        "bill B-2026-0001: says 9999 in all, its lines come to 10000",
        "bill B-2026-0001: says 9999 in all, its entry 10000",
    ]


def test_changed_line_is_found(bills: list[Bill]) -> None:
    rows_of(BillLine).filter(bill=bills[0]).update(amount=9_000, display=9_000)
    assert found() == [
        "bill B-2026-0001: says 10000 in all, its lines come to 9000",
        "Electricity in 202605: running cost is 13000 by the bills, 14000 by the entries",
    ]


def test_changed_entry_is_found(bills: list[Bill]) -> None:
    rows_of(Line).filter(entry=bills[0].entry, amount__gt=0).update(amount=1)
    assert "bill B-2026-0001: says 10000 in all, its entry 1" in found()


def test_bill_marked_paid_without_an_entry_is_found(bills: list[Bill]) -> None:
    Bill.objects.filter(pk=bills[2].pk).update(
        settled="paid", paid_by="cash", paid_on=JUNE, paid_month=202606
    )
    assert found() == [
        "bill B-2026-0003: owes 0, its entries say 3000",
        "bill B-2026-0003: was paid on 2026-06-03, its payment was posted on 2026-05-12",
    ]


def test_bill_marked_owed_though_it_was_paid_is_found(bills: list[Bill]) -> None:
    Bill.objects.filter(pk=bills[0].pk).update(
        settled="owed", paid_by="", paid_on=None, paid_month=None
    )
    assert found() == ["bill B-2026-0001: owes 10000, its entries say 0"]


def test_wrong_months_are_found(bills: list[Bill]) -> None:
    Bill.objects.filter(pk=bills[0].pk).update(day=JUNE)
    Bill.objects.filter(pk=bills[1].pk).update(paid_month=202606)
    assert found() == [
        "bill B-2026-0001: is of 2026-06-03, stands in 202605, and was posted on 2026-05-12",
        "bill B-2026-0002: was paid on 2026-05-12, but stands as paid in 202606",
    ]


def test_a_share_that_is_not_that_of_the_lines_is_found(bills: list[Bill]) -> None:
    Bill.objects.filter(pk=bills[0].pk).update(serves="shared", display_share="0.25")
    Bill.objects.filter(pk=bills[1].pk).update(serves="frags", display_share=0)
    told = found()
    assert [text.split(",")[0] for text in told] == ["bill B-2026-0001", "bill B-2026-0002"]
    assert told[0] == (
        "bill B-2026-0001, Electricity: bears 10000 for the display, its share comes to 2500"
    )


def test_a_payment_moved_to_another_day_is_found(bills: list[Bill], manager: Person) -> None:
    pay_bill(bills[2].pk, by=manager, day=JUNE)
    july = {"paid_on": date(2026, 7, 1), "paid_month": 202607}
    Bill.objects.filter(pk__in=[bills[0].pk, bills[2].pk]).update(**july)
    assert found() == [
        "bill B-2026-0001: was paid on 2026-07-01, its payment was posted on 2026-05-12",
        "bill B-2026-0003: was paid on 2026-07-01, its payment was posted on 2026-06-03",
    ]


def test_missing_bills_are_found_by_number(bills: list[Bill]) -> None:
    for gone in (bills[3], bills[6]):
        with connection.cursor() as cursor:
            cursor.execute("DELETE FROM costs_billline WHERE bill_id = %s", [gone.pk])
            cursor.execute("DELETE FROM costs_bill WHERE id = %s", [gone.pk])
    assert [text for text in found() if "series" in text] == [
        "bill B-2026-0004: is missing from its series",
        "bill B-2026-0007: is missing from its series",
    ]


def test_number_that_was_never_given_is_found(bills: list[Bill]) -> None:
    NumberSeries.objects.filter(series="B", year=2026).update(last=6)
    assert found() == ["bill B-2026-0007: has a number that was never given: the last is 6"]
    assert Entry.objects.count() == len(bills)
