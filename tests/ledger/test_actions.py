"""Posting to a real ledger."""

from datetime import UTC, date, datetime

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.ledger.actions import ensure_cost_account, load_chart, post_entries, post_entry
from fraginv.ledger.models import Account, ChainHead, Entry, Line
from fraginv.ledger.queries import ledger_differences
from fraginv.ledger.rules import CHART, FIRST_HASH, Draft, Part, Posting

DAY = date(2026, 11, 20)
NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
SALE = (Posting("1000", 1_063), Posting("4010", -1_000), Posting("2100", -63))

pytestmark = pytest.mark.usefixtures("frozen")


def post(by: Person, *, paper: str = "S-1", day: date = DAY, amount: int = 500) -> Entry:
    """Post a small sale for cash."""
    postings = [Posting("1000", amount), Posting("4010", -amount)]
    return post_entry(postings, day=day, source="sale", paper=paper, memo="", by=by)


def test_entry_holds_what_was_posted(manager: Person) -> None:
    entry = post_entry(SALE, day=DAY, source="sale", paper="S-2026-1", memo="counter", by=manager)
    saved = Entry.objects.get(pk=entry.pk)
    assert (saved.year, saved.number, saved.day, saved.month) == (2026, 1, DAY, 202611)
    assert (saved.source, saved.paper, saved.memo) == ("sale", "S-2026-1", "counter")
    assert (saved.by, saved.at, saved.position) == (manager, NOON, 1)
    assert saved.previous_hash == FIRST_HASH
    lines = [(line.account_id, line.amount, line.month) for line in saved.lines.all()]
    assert lines == [("1000", 1_063, 202611), ("4010", -1_000, 202611), ("2100", -63, 202611)]
    assert (saved.source, saved.paper) == ("sale", "S-2026-1")
    assert list(ledger_differences()) == []


def test_entries_follow_each_other(manager: Person) -> None:
    first, second = post(manager), post(manager, paper="S-2")
    earlier = post(manager, paper="S-0", day=date(2025, 3, 1))
    assert [entry.label for entry in (first, second, earlier)] == [
        "2026-00001",
        "2026-00002",
        "2025-00001",
    ]
    assert second.previous_hash == first.hash
    assert earlier.previous_hash == second.hash
    head = ChainHead.objects.get()
    assert (head.position, head.hash) == (3, earlier.hash)
    assert list(ledger_differences()) == []


def test_many_entries_at_once_are_the_same_as_one_by_one(manager: Person) -> None:
    drafts = [
        Draft(day, "sale", f"S-{place}", "", (Posting("1000", 5), Posting("4020", -5)))
        for place, day in enumerate([DAY, date(2025, 1, 2), DAY, date(2024, 1, 1)])
    ]
    entries = post_entries(drafts, by=manager)
    assert [entry.label for entry in entries] == [
        "2026-00001",
        "2025-00001",
        "2026-00002",
        "2024-00001",
    ]
    assert post(manager, paper="after").previous_hash == entries[-1].hash
    assert list(ledger_differences()) == []
    assert post_entries([], by=manager) == []


@pytest.mark.parametrize(
    ("postings", "day", "paper", "message"),
    [
        ([Posting("1000", 5)], DAY, "S-1", "at least two"),
        ([Posting("1000", 5), Posting("4010", -4)], DAY, "S-1", "does not balance"),
        ([Posting("1000", 5), Posting("4999", -5)], DAY, "S-1", "no account 4999"),
        (SALE, date(2026, 11, 26), "S-1", "2026-11-26 is in the future"),
        (SALE, date(1989, 12, 31), "S-1", "before 1990-01-01"),
        (SALE, DAY, "", "needs the paper"),
    ],
    ids=["one line", "unbalanced", "unknown account", "future", "long ago", "no paper"],
)
def test_bad_entries_leave_nothing(
    manager: Person, postings: list[Posting], day: date, paper: str, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        post_entry(postings, day=day, source="sale", paper=paper, memo="", by=manager)
    assert not Entry.objects.exists()
    assert not Line.objects.exists()
    assert post(manager).number == 1, "the refused entry left no gap"


def test_the_callers_failure_takes_the_entry_back(manager: Person) -> None:

    @transaction.atomic
    def sell_and_fail() -> None:
        post(manager)
        raise RuntimeError("the paper could not be written")

    with pytest.raises(RuntimeError, match="could not be written"):
        sell_and_fail()
    assert not Entry.objects.exists()
    assert ChainHead.objects.get().hash == FIRST_HASH
    assert post(manager).number == 1


def test_statements_do_not_grow_with_the_ledger(
    manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for place in range(5):
        post(manager, paper=f"S-{place}")
    with django_assert_max_num_queries(11) as counted:
        post(manager, paper="S-last")
    statements = [row["sql"] for row in counted.captured_queries]
    assert len([sql for sql in statements if "SAVEPOINT" not in sql]) <= 9


def test_posted_rows_cannot_be_changed_or_deleted(manager: Person) -> None:
    entry = post(manager)
    line = Line.objects.filter(entry=entry).first()
    assert line is not None
    for row in (entry, line):
        with pytest.raises(Conflict, match="stays as it is"):
            row.save()
        with pytest.raises(Conflict, match="stays as it is"):
            row.delete()
    for rows in (Entry.objects.all(), Line.objects.all()):
        with pytest.raises(Conflict, match="stays as it is"):
            rows.update(month=202610)
        with pytest.raises(Conflict, match="stays as it is"):
            rows.delete()
    assert list(ledger_differences()) == []


def write_behind_the_actions(entry: Entry, *, amount: int) -> None:
    """Write an entry and a line as no action would."""
    with transaction.atomic():
        entry.save()
        Line.objects.create(entry=entry, account_id="1000", amount=amount, month=202611)


@pytest.mark.parametrize("change", ["number", "previous_hash", "amount"])
def test_the_database_refuses_what_must_never_be(manager: Person, change: str) -> None:
    entry = post(manager)
    copy = Entry(
        position=9, year=2026, number=9, day=DAY, month=202611, source="sale", paper="S-9",
        by=manager, at=NOON, previous_hash="1" * 64, hash="2" * 64,
    )  # fmt: skip
    if change == "number":
        copy.number = entry.number
    elif change == "previous_hash":
        copy.previous_hash = entry.previous_hash
    amount = 0 if change == "amount" else 5
    with pytest.raises(IntegrityError):
        write_behind_the_actions(copy, amount=amount)
    assert Entry.objects.count() == 1


def test_chart_is_loaded_by_the_migration_and_again_without_change(db: None) -> None:
    rows = set(Account.objects.values_list("code", "name", "kind", "part"))
    assert rows == {(row.code, row.name, row.kind.value, row.part.value) for row in CHART}
    assert load_chart() == len(CHART)
    assert Account.objects.count() == len(CHART)


def test_cost_accounts_open_on_demand(manager: Person) -> None:
    power = ensure_cost_account("Electricity", direct=False)
    plugs = ensure_cost_account(" Plugs and glue ", direct=True)
    light = ensure_cost_account("Electricity", direct=True)
    assert [(row.code, row.name, row.part) for row in (power, plugs, light)] == [
        ("6001", "Electricity", Part.RUNNING),
        ("5001", "Plugs and glue", Part.DIRECT),
        ("5002", "Electricity", Part.DIRECT),
    ]
    assert ensure_cost_account("Electricity", direct=False) == power
    with pytest.raises(InputError, match="needs a name"):
        ensure_cost_account("  ", direct=True)
