"""Totals, balances and differences of a real ledger."""

from datetime import date

import pytest
from django.db import connection, models
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import NotFound
from fraginv.base.models import NumberSeries, Person
from fraginv.base.rules.days import month_of
from fraginv.ledger.actions import post_entry
from fraginv.ledger.models import Account, ChainHead, Entry, Line
from fraginv.ledger.queries import (
    account_totals,
    get_entry,
    journal,
    ledger_differences,
    trial_balance,
)
from fraginv.ledger.rules import (
    BANK,
    CASH,
    CREDITS,
    CUSTOMERS_CREDIT,
    DISCOUNTS,
    RECEIVABLES,
    Posting,
    sales_account,
)

MAY, JUNE = date(2026, 5, 12), date(2026, 6, 3)
SALES = sales_account("other goods")

pytestmark = pytest.mark.usefixtures("frozen")


def post(by: Person, *postings: tuple[str, int], day: date = MAY) -> Entry:
    """Post pairs of account and amount."""
    rows = [Posting(account, amount) for account, amount in postings]
    paper = f"P-{Entry.objects.count() + 1}"
    return post_entry(rows, day=day, source="sale", paper=paper, memo="", by=by)


def totals(month: int) -> dict[str, int]:
    """Return each account's debit less credit in a month."""
    return {row.code: row.total for row in account_totals(month)}


def rows_of(model: type[models.Model]) -> "models.QuerySet[models.Model]":
    """Reach past the guard that keeps posted rows as they are, as a fault would."""
    return models.QuerySet(model)


def test_published_trial_balance(manager: Person) -> None:
    """OpenStax, Principles of Accounting vol. 1 (2019), section 3.6: 34,000 on each side.

    The cash account behind it is posted movement by movement: 24,800.
    """
    for code, name in (("1900", "Supplies"), ("1910", "Equipment"), ("3900", "Dividends")):
        Account.objects.create(code=code, name=name, kind="asset")
    for code, name in (("6101", "Salaries"), ("6102", "Utilities")):
        Account.objects.create(code=code, name=name, kind="cost", part="running")
    post(manager, (CASH, 20_000), ("3000", -20_000))
    post(manager, ("1910", 3_500), (CASH, -3_500))
    post(manager, ("1900", 500), ("2000", -500))
    post(manager, (CASH, 4_000), (CUSTOMERS_CREDIT, -4_000))
    post(manager, (CASH, 2_800), (CASH, 5_500), (RECEIVABLES, 1_200), (SALES, -9_500))
    post(manager, ("6102", 300), (CASH, -300))
    post(manager, ("3900", 100), (CASH, -100))
    post(manager, ("6101", 3_600), (CASH, -3_600))
    balance = trial_balance(month_of(MAY))
    assert {row.code: row.total for row in balance.rows} == {
        CASH: 24_800,
        RECEIVABLES: 1_200,
        "1900": 500,
        "1910": 3_500,
        "2000": -500,
        CUSTOMERS_CREDIT: -4_000,
        "3000": -20_000,
        "3900": 100,
        SALES: -9_500,
        "6101": 3_600,
        "6102": 300,
    }
    assert (balance.debit, balance.credit) == (34_000, 34_000)


def test_published_returns_allowances_and_discount(manager: Person) -> None:
    """OpenStax, Principles of Accounting vol. 1 (2019), sections 6.1 and 6.4, the sales side.

    250 units at 150 for cash, 40 come back, 20 kept at 10 off each; then 55 units at 350 on
    credit, 10 returned, 5 kept at 60 off each, 15,450 paid inside the 10 % discount window.
    """
    post(manager, (CASH, 37_500), (SALES, -37_500))
    post(manager, (CREDITS, 6_000), (CASH, -6_000))
    post(manager, (CREDITS, 200), (CASH, -200))
    post(manager, (RECEIVABLES, 19_250), (SALES, -19_250), day=JUNE)
    post(manager, (CREDITS, 3_500), (RECEIVABLES, -3_500), day=JUNE)
    post(manager, (CREDITS, 300), (RECEIVABLES, -300), day=JUNE)
    post(manager, (CASH, 13_905), (DISCOUNTS, 1_545), (RECEIVABLES, -15_450), day=JUNE)
    may, june = totals(202605), totals(202606)
    assert may == {CASH: 31_300, SALES: -37_500, CREDITS: 6_200}
    assert -sum(june[code] for code in (SALES, DISCOUNTS, CREDITS)) == 19_250 - 1_545 - 3_800
    assert june[RECEIVABLES] == 0
    assert june[CASH] == 13_905


def test_published_nursery_credit_and_allowance(manager: Person) -> None:
    """The same sections: a sale of 3,000 all returned, or kept with an allowance of 1,000."""
    post(manager, (RECEIVABLES, 3_000), (SALES, -3_000))
    post(manager, (CREDITS, 3_000), (RECEIVABLES, -3_000))
    post(manager, (RECEIVABLES, 3_000), (SALES, -3_000), day=JUNE)
    post(manager, (CREDITS, 1_000), (RECEIVABLES, -1_000), day=JUNE)
    assert totals(202605)[RECEIVABLES] == 0
    assert totals(202606)[RECEIVABLES] == 2_000


def test_published_customer_deposit(manager: Person) -> None:
    """OpenStax, the same book, sections 12.1 and 12.2: 600 prepaid, half delivered each month."""
    post(manager, (CASH, 600), (CUSTOMERS_CREDIT, -600), day=date(2026, 4, 20))
    post(manager, (CUSTOMERS_CREDIT, 300), (SALES, -300), day=MAY)
    post(manager, (CUSTOMERS_CREDIT, 300), (SALES, -300), day=JUNE)
    owed = {row.code: row.total for row in trial_balance(month_of(MAY)).rows}
    assert owed == {CASH: 600, CUSTOMERS_CREDIT: -300, SALES: -300}
    assert totals(202605)[SALES] == totals(202606)[SALES] == -300
    after = {row.code: row.total for row in trial_balance(month_of(JUNE)).rows}
    assert CUSTOMERS_CREDIT not in after, "an account at zero is left out"


def test_totals_of_a_month_are_two_statements(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for amount in range(1, 12):
        post(manager, (CASH, amount), (SALES, -amount))
    post(manager, (CASH, 1), (SALES, -1), day=JUNE)
    with django_assert_max_num_queries(2):
        found = account_totals(202605)
    assert [(row.code, row.debit, row.credit) for row in found] == [
        (CASH, 66, 0),
        (SALES, 0, 66),
    ]
    with django_assert_max_num_queries(2):
        assert trial_balance(month_of(MAY)).debit == 66
    assert account_totals(202601) == []


def test_journal_reads_the_same_few_statements(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    posted = [post(manager, (CASH, 5), (SALES, -5)) for _ in range(5)]
    post(manager, (CASH, 5), (SALES, -5), day=JUNE)
    with django_assert_max_num_queries(3):
        entries = journal(202605, size=50).rows
        shown = [[line.account.name for line in entry.lines.all()] for entry in entries]
    assert entries == posted
    assert shown == [["Cash", "Sales: other goods"]] * 5


def test_entry_by_its_number(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    post(manager, (CASH, 5), (SALES, -5))
    with django_assert_max_num_queries(3):
        entry = get_entry(2026, number=1)
        assert [line.account.name for line in entry.lines.all()] == ["Cash", "Sales: other goods"]
        assert entry.by.name == manager.name
    with pytest.raises(NotFound, match="no entry 2026-00002"):
        get_entry(2026, number=2)


def found_differences() -> list[str]:
    """Return what the ledger's own check finds, as text."""
    return [str(difference) for difference in ledger_differences()]


def test_sound_ledger_has_no_differences(manager: Person) -> None:
    assert found_differences() == []
    post(manager, (CASH, 5), (SALES, -5))
    post(manager, (CASH, 5), (SALES, -5), day=JUNE)
    assert found_differences() == []


def test_changed_amount_is_found_with_its_entry(manager: Person) -> None:
    post(manager, (CASH, 5), (SALES, -5))
    changed = post(manager, (CASH, 7), (SALES, -7))
    rows_of(Line).filter(entry=changed, account=CASH).update(amount=8)
    assert found_differences() == [
        "entry 2026-00002: does not balance: off by 1",
        "entry 2026-00002: was changed after it was posted: its hash does not match",
        "sum account/1000/debit, month 2026-05: is kept as 12, and comes to 13",
    ]


def test_balanced_forgery_is_found_by_its_hash(manager: Person) -> None:
    forged = post(manager, (CASH, 5), (SALES, -5))
    post(manager, (CASH, 7), (SALES, -7))
    rows_of(Line).filter(entry=forged, account=CASH).update(account=BANK)
    assert found_differences() == [
        "entry 2026-00001: was changed after it was posted: its hash does not match",
        "sum account/1000/debit, month 2026-05: is kept as 12, and comes to 7",
        "sum account/1020/debit, month 2026-05: is kept as 0, and comes to 5",
    ]


def test_forgery_with_a_new_hash_breaks_the_chain(manager: Person) -> None:
    forged = post(manager, (CASH, 5), (SALES, -5))
    post(manager, (CASH, 7), (SALES, -7))
    rows_of(Entry).filter(pk=forged.pk).update(hash="f" * 64)
    assert "entry 2026-00002: does not follow the entry before it: the chain is broken" in (
        found_differences()
    )


def test_missing_entry_is_found_in_numbers_and_chain(manager: Person) -> None:
    post(manager, (CASH, 5), (SALES, -5))
    gone = post(manager, (CASH, 7), (SALES, -7))
    post(manager, (CASH, 9), (SALES, -9))
    delete_entry(gone)
    found = found_differences()
    assert "entry 2026-00002: is missing from its year" in found
    assert "entry 2026-00003: stands at 3 of the chain after 1" in found


def test_cut_off_end_is_found_by_the_head(manager: Person) -> None:
    post(manager, (CASH, 5), (SALES, -5))
    delete_entry(post(manager, (CASH, 7), (SALES, -7)))
    assert found_differences() == [
        "series E of 2026: goes up to 1, its counter stands at 2",
        "head of the chain: says 2 entries were posted, the last one found is 1",
        "sum account/1000/debit, month 2026-05: is kept as 12, and comes to 5",
        "sum account/4300/credit, month 2026-05: is kept as 12, and comes to 5",
    ]


def test_counter_that_lags_or_runs_ahead_is_found(manager: Person) -> None:
    post(manager, (CASH, 5), (SALES, -5))
    post(manager, (CASH, 7), (SALES, -7))
    NumberSeries.objects.filter(series="E", year=2026).update(last=1)
    NumberSeries.objects.create(series="E", year=2027, last=3)
    assert found_differences() == [
        "series E of 2026: goes up to 2, its counter stands at 1",
        "series E of 2027: has no entries, its counter stands at 3",
    ]


def test_other_faults_are_named(manager: Person) -> None:
    entry = post(manager, (CASH, 5), (SALES, -5))
    rows_of(Line).filter(entry=entry, account=CASH).update(month=202606)
    rows_of(Account).filter(pk="2300").delete()
    ChainHead.objects.filter(pk=1).update(position=4)
    assert found_differences() == [
        "account 2300: Owed to owners of corals is missing from the chart",
        "entry 2026-00001: a line stands in month 202606, the entry in 202605",
        "head of the chain: says 4 entries were posted, the last one found is 1",
        "sum account/1000/debit, month 2026-05: is kept as 5, and comes to 0",
        "sum account/1000/debit, month 2026-06: is kept as 0, and comes to 5",
    ]
    rows_of(Entry).filter(pk=entry.pk).update(month=202606)
    assert "entry 2026-00001: stands in month 202606, its day is 2026-05-12" in found_differences()


def delete_entry(entry: Entry) -> None:
    """Delete an entry with its lines behind the application's back."""
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM ledger_line WHERE entry_id = %s", [entry.pk])
        cursor.execute("DELETE FROM ledger_entry WHERE id = %s", [entry.pk])


def test_entry_without_lines_is_found(manager: Person) -> None:
    entry = post(manager, (CASH, 5), (SALES, -5))
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM ledger_line WHERE entry_id = %s", [entry.pk])
    assert "entry 2026-00001: has only 0 lines" in found_differences()
