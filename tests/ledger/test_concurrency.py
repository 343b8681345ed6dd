"""Many people posting at once: numbers and chain stay whole on either database."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime

import pytest
from django.db import connections

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.days import month_of
from fraginv.base.rules.roles import Role
from fraginv.ledger.actions import ensure_cost_account, post_entry
from fraginv.ledger.models import Account, ChainHead, Entry
from fraginv.ledger.queries import ledger_differences, trial_balance
from fraginv.ledger.rules import CASH, Posting

WRITERS, EACH = 8, 12
DAYS = (date(2026, 11, 20), date(2025, 11, 20))


@pytest.fixture
def manager(transactional_db: None, people: dict[Role, Person]) -> Person:
    return people[Role.MANAGER]


def post_some(by: Person, writer: int) -> None:
    """Post entries in two years and open accounts for kinds of cost that all writers use."""
    with clock.at(datetime(2026, 11, 25, 17, tzinfo=UTC)):
        for turn in range(EACH):
            account = ensure_cost_account(f"Kind {turn % 4}", direct=bool(turn % 2))
            postings = [Posting(account.code, 100 + writer), Posting(CASH, -100 - writer)]
            paper = f"P-{writer}-{turn}"
            day = DAYS[turn % 2]
            post_entry(postings, day=day, source="test", paper=paper, memo="", by=by)


def run_writers(by: Person) -> None:
    """Let all writers post at the same time; the first failure is raised."""

    def work(writer: int) -> None:
        try:
            post_some(by, writer)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(work, range(WRITERS)))


def test_writers_at_once_leave_one_whole_chain(manager: Person) -> None:
    run_writers(manager)
    count = WRITERS * EACH
    assert list(ledger_differences()) == []
    assert Entry.objects.count() == count
    assert ChainHead.objects.get().position == count
    for day in DAYS:
        numbers = Entry.objects.filter(year=day.year).values_list("number", flat=True)
        assert sorted(numbers) == list(range(1, count // 2 + 1))
    assert Entry.objects.values("source", "paper").distinct().count() == count
    assert Account.objects.filter(code__regex="^[56]").count() == 4
    balance = trial_balance(month_of(DAYS[0]))
    assert balance.debit == balance.credit == EACH * sum(100 + n for n in range(WRITERS))
