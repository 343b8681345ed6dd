"""Entering and paying bills on a real database."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Party, Person
from fraginv.costs.actions import add_bill, enter_bills, pay_bill
from fraginv.costs.models import Bill, BillLine, CostKind
from fraginv.costs.queries import cost_differences
from fraginv.costs.rules import BillItem
from fraginv.ledger.models import Account, Entry
from fraginv.ledger.queries import ledger_differences

DAY = date(2026, 11, 20)
TODAY = date(2026, 11, 25)

pytestmark = pytest.mark.usefixtures("frozen")


def bill(by: Person, *items: tuple[str, int], **given: Any) -> Bill:
    """Enter a bill of 100.00 for electricity, or as given."""
    rows = [BillItem(kind, amount) for kind, amount in items or (("Electricity", 10_000),)]
    return add_bill(rows, **{"day": DAY, "by": by, **given}).bill


def posted(entry: Entry | None) -> dict[str, int]:
    """Return an entry's amounts by the name of their account."""
    assert entry is not None
    return {
        f"{line.account.part} {line.account.name}".strip(): line.amount
        for line in entry.lines.select_related("account")
    }


def agree() -> bool:
    """Tell whether ledger and bills find nothing wrong."""
    return not [*ledger_differences(), *cost_differences()]


def test_paid_bill_is_one_entry_on_its_kind_and_the_bank(manager: Person) -> None:
    done = bill(manager, supplier="Harbour Power", note="meter 2")
    saved = Bill.objects.get()
    assert saved == done
    assert saved.label == "B-2026-0001"
    assert (saved.day, saved.month, saved.amount) == (DAY, 202611, 10_000)
    assert (saved.settled, saved.paid_by, saved.paid_on) == ("paid", "transfer", DAY)
    assert saved.paid_month == 202611
    assert saved.supplier is not None
    assert saved.supplier.name == "Harbour Power"
    assert (saved.note, saved.by, saved.imported) == ("meter 2", manager, False)
    assert posted(saved.entry) == {"running Electricity": 10_000, "Bank": -10_000}
    assert (saved.entry.source, saved.entry.paper) == ("bill", "B-2026-0001")
    assert "Harbour" not in saved.entry.memo, "entries hold no names"
    assert agree()


@pytest.mark.parametrize(
    ("given", "entry"),
    [
        ({"serves": "frags"}, {"direct Electricity": 10_000, "Bank": -10_000}),
        (
            {"serves": "shared"},
            {"running Electricity": 5_000, "direct Electricity": 5_000, "Bank": -10_000},
        ),
        (
            {"serves": "shared", "display_share": Decimal("0.8125")},
            {"running Electricity": 8_125, "direct Electricity": 1_875, "Bank": -10_000},
        ),
        ({"paid_by": "cash"}, {"running Electricity": 10_000, "Cash": -10_000}),
        ({"settled": "owed"}, {"running Electricity": 10_000, "Payables": -10_000}),
        (
            {"settled": "in_kind"},
            {"in_kind In kind: display": 10_000, "in_kind Given in kind": -10_000},
        ),
        (
            {"settled": "in_kind", "serves": "shared"},
            {
                "in_kind In kind: display": 5_000,
                "in_kind In kind: frags": 5_000,
                "in_kind Given in kind": -10_000,
            },
        ),
    ],
    ids=["frags", "half", "share", "cash", "owed", "in kind", "in kind shared"],
)
def test_what_it_serves_and_how_it_stands_choose_the_accounts(
    manager: Person, given: dict[str, Any], entry: dict[str, int]
) -> None:
    assert posted(bill(manager, **given).entry) == entry
    assert agree()


def test_a_bill_may_cover_several_kinds(manager: Person) -> None:
    done = bill(manager, ("Salt", 333), ("Food", 667), serves="shared")
    assert [(row.kind.name, row.amount, row.display, row.direct) for row in done.lines.all()] == [
        ("Salt", 333, 167, 166),
        ("Food", 667, 334, 333),
    ]
    assert done.amount == 1_000
    assert agree()


def test_a_shared_cent_leaves_no_empty_posting(manager: Person) -> None:
    assert posted(bill(manager, ("Salt", 1), serves="shared").entry) == {
        "running Salt": 1,
        "Bank": -1,
    }
    assert agree()


def test_new_kinds_and_suppliers_are_made_and_said_once(manager: Person) -> None:
    first = add_bill([BillItem("Salt mix", 500)], day=DAY, by=manager, supplier="Harbour Salt")
    again = add_bill([BillItem("  SALT  mix ", 700)], day=DAY, by=manager, supplier="harbour salt")
    assert [text.split(". ")[0] for text in first.said] == [
        "New kind of cost: Salt mix",
        "New supplier: Harbour Salt",
    ]
    assert again.said == []
    assert CostKind.objects.get().name == "Salt mix"
    assert Party.objects.get().name == "Harbour Salt"
    assert Account.objects.filter(part="running").count() == 1


def test_numbers_run_without_gaps_in_each_year(manager: Person) -> None:
    labels = [
        bill(manager, day=day).label for day in (DAY, date(2025, 12, 31), TODAY, date(2025, 1, 1))
    ]
    assert labels == ["B-2026-0001", "B-2025-0001", "B-2026-0002", "B-2025-0002"]
    assert agree()


BAD = [
    ("amount zero", [("Salt", 0)], {}, "must be more than zero"),
    ("amount negative", [("Salt", -5)], {}, "must be more than zero"),
    ("amount absurd", [("Salt", 10**12 + 1)], {}, "too large"),
    ("amounts absurd together", [("Salt", 10**12), ("Food", 1)], {}, "too large"),
    ("no kind", [("  ", 5)], {}, "kind of cost is empty"),
    ("kind too long", [("x" * 61, 5)], {}, "has 61 characters; at most 60"),
    ("kind like a formula", [("=1+1", 5)], {}, "starts like a formula"),
    ("no items", [], {}, "needs a kind of cost and an amount"),
    ("tomorrow", [("Salt", 5)], {"day": date(2026, 11, 26)}, "2026-11-26 is in the future"),
    ("long ago", [("Salt", 5)], {"day": date(26, 11, 20)}, "Look at the year"),
    ("serves sharks", [("Salt", 5)], {"serves": "sharks"}, "Use one of: display, frags, shared"),
    ("stands oddly", [("Salt", 5)], {"settled": "maybe"}, "Use one of: paid, owed, in_kind"),
    ("paid oddly", [("Salt", 5)], {"paid_by": "card"}, "paid by transfer or cash"),
    (
        "share above one",
        [("Salt", 5)],
        {"serves": "shared", "display_share": Decimal("1.01")},
        "between 0 and 1",
    ),
    (
        "share negative",
        [("Salt", 5)],
        {"serves": "shared", "display_share": Decimal("-0.1")},
        "between 0 and 1",
    ),
    (
        "share no number",
        [("Salt", 5)],
        {"serves": "shared", "display_share": Decimal("NaN")},
        "between 0 and 1",
    ),
    (
        "share too fine",
        [("Salt", 5)],
        {"serves": "shared", "display_share": Decimal("0.33333")},
        "more than 4 decimals",
    ),
    ("supplier too long", [("Salt", 5)], {"supplier": "x" * 121}, "at most 120"),
    ("note with a tab", [("Salt", 5)], {"note": "a\tb"}, "control character"),
]


@pytest.mark.parametrize(
    ("items", "given", "message"),
    [row[1:] for row in BAD],
    ids=[row[0] for row in BAD],
)
def test_bad_bills_leave_nothing(
    manager: Person, items: list[tuple[str, int]], given: dict[str, Any], message: str
) -> None:
    rows = [BillItem(kind, amount) for kind, amount in items]
    with pytest.raises(InputError, match=message):
        add_bill(rows, **{"day": DAY, "by": manager, **given})
    for model in (Bill, BillLine, CostKind, Party, Entry):
        assert not model.objects.exists()
    assert bill(manager).number == 1


def test_nothing_to_enter_is_refused(manager: Person) -> None:
    with pytest.raises(InputError, match="no bill to enter"):
        enter_bills([], by=manager)


def test_owed_bill_is_paid_once(manager: Person) -> None:
    owed = bill(manager, settled="owed")
    assert (owed.paid_on, owed.paid_month, owed.paid_by) == (None, None, "")
    paid = pay_bill(owed.pk, by=manager)
    assert (paid.settled, paid.paid_on, paid.paid_month) == ("paid", TODAY, 202611)
    assert posted(paid.payment_entry) == {"Payables": 10_000, "Bank": -10_000}
    with pytest.raises(Conflict, match="B-2026-0001 was paid on 2026-11-25 already"):
        pay_bill(owed.pk, by=manager)
    assert Entry.objects.count() == 2
    assert agree()


def test_payment_by_cash_on_another_day(manager: Person) -> None:
    owed = bill(manager, settled="owed", day=date(2026, 10, 5))
    paid = pay_bill(owed.pk, by=manager, day=date(2026, 10, 30), paid_by="cash")
    assert (paid.month, paid.paid_month, paid.paid_by) == (202610, 202610, "cash")
    assert posted(paid.payment_entry) == {"Payables": 10_000, "Cash": -10_000}
    assert agree()


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"day": date(2026, 11, 26)}, "in the future"),
        ({"day": date(2026, 11, 19)}, "cannot have been paid on 2026-11-19"),
        ({"paid_by": "pearls"}, "paid by transfer or cash"),
    ],
    ids=["tomorrow", "before the bill", "pearls"],
)
def test_bad_payments_leave_the_bill_owed(
    manager: Person, given: dict[str, Any], message: str
) -> None:
    owed = bill(manager, settled="owed")
    with pytest.raises(InputError, match=message):
        pay_bill(owed.pk, by=manager, **given)
    assert Bill.objects.get().is_owed
    assert Entry.objects.count() == 1


def test_what_is_not_owed_cannot_be_paid(manager: Person) -> None:
    given = bill(manager, settled="in_kind")
    with pytest.raises(Conflict, match="given in kind"):
        pay_bill(given.pk, by=manager)
    with pytest.raises(NotFound, match="no such bill"):
        pay_bill(given.pk + 1, by=manager)


def test_bills_stay_as_they_were_entered(manager: Person) -> None:
    done = bill(manager)
    with pytest.raises(Conflict, match="stays"):
        done.delete()
    with pytest.raises(Conflict, match="stays"):
        done.lines.all().delete()


@pytest.mark.parametrize(
    "change",
    [
        {"amount": 0},
        {"display_share": Decimal("0.5")},
        {"settled": "owed"},
        {"paid_on": None},
        {"series": "BI"},
        {"number": 0},
        {"serves": "sharks"},
    ],
    ids=lambda change: next(iter(change)),
)
def test_the_database_refuses_what_must_never_be(manager: Person, change: dict[str, Any]) -> None:
    done = bill(manager)
    with pytest.raises(IntegrityError), transaction.atomic():
        Bill.objects.filter(pk=done.pk).update(**change)
    done.refresh_from_db()
    assert done.amount == 10_000


def test_statements_of_entering_and_paying(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for amount in (100, 200, 300):
        bill(manager, ("Electricity", amount), supplier="Harbour Power")
    with django_assert_max_num_queries(22):
        owed = bill(manager, supplier="Harbour Power", settled="owed")
    with django_assert_max_num_queries(20):
        pay_bill(owed.pk, by=manager)
