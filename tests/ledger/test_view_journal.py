"""The ledger's pages."""

import re
from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.ledger.actions import post_entry
from fraginv.ledger.models import Entry
from fraginv.ledger.rules import Posting

ClientFor = Callable[[Role | None], Client]
DAY = date(2026, 11, 20)

pytestmark = pytest.mark.usefixtures("frozen")


def post(by: Person, amount: int = 1_250, *, day: date = DAY) -> Entry:
    """Post a small sale for cash."""
    postings = [Posting("1000", amount), Posting("4010", -amount)]
    paper = f"S-2026-{Entry.objects.count() + 1}"
    return post_entry(postings, day=day, source="sale", paper=paper, memo="SPS", by=by)


def test_month_shows_accounts_and_entries(
    client_for: ClientFor, people: dict[Role, Person]
) -> None:
    post(people[Role.OWNER])
    post(people[Role.OWNER], 99, day=date(2026, 10, 1))
    page = client_for(Role.READER).get(reverse("ledger:journal")).content.decode()
    assert "November 2026" in page
    assert page.count("$12.50") == 6, "each side of the accounts, their sums, and of the entry"
    assert page.count("$13.49") == 4, "both balances at the end of the month, and their sums"
    assert "S-2026-1" in page
    assert "$0.99" not in page
    october = client_for(Role.READER).get(reverse("ledger:journal"), {"month": "2026-10"})
    assert "$0.99" in october.content.decode()


def test_month_without_entries_says_where_they_come_from(client_for: ClientFor) -> None:
    page = client_for(Role.READER).get(reverse("ledger:journal")).content.decode()
    assert "Nothing was posted in this month" in page


@pytest.mark.parametrize("month", ["2026-13", "2026-00", "202611", "soon"])
def test_what_is_no_month_is_said(client_for: ClientFor, month: str) -> None:
    answer = client_for(Role.READER).get(reverse("ledger:journal"), {"month": month})
    assert answer.status_code == 400
    assert month in answer.content.decode()


def test_statements_do_not_grow_with_the_month(
    client_for: ClientFor,
    people: dict[Role, Person],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.READER)
    for count in (1, 9):
        for _ in range(count):
            post(people[Role.OWNER])
        with django_assert_max_num_queries(10):
            assert client.get(reverse("ledger:journal")).status_code == 200


def test_long_month_is_shown_in_pieces(client_for: ClientFor, people: dict[Role, Person]) -> None:
    for _ in range(52):
        post(people[Role.OWNER])
    client = client_for(Role.READER)
    first = client.get(reverse("ledger:journal")).content.decode()
    (onward,) = re.findall(r'rel="next" href="([^"]+)"', first)
    second = client.get(reverse("ledger:journal") + onward).content.decode()
    assert "2026-00052" in second
    assert "2026-00050" not in second


def test_entry_shows_lines_paper_and_chain(
    client_for: ClientFor,
    people: dict[Role, Person],
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    entry = post(people[Role.OWNER])
    client = client_for(Role.READER)
    with django_assert_max_num_queries(6):
        page = client.get(reverse("ledger:entry", args=[2026, 1])).content.decode()
    for text in ("1000 Cash", "4010 Sales: SPS", "$12.50", "Sale S-2026-1", entry.hash):
        assert text in page


def test_entry_that_is_none_is_not_found(client_for: ClientFor) -> None:
    answer = client_for(Role.READER).get(reverse("ledger:entry", args=[2026, 7]))
    assert answer.status_code == 404
    assert "no entry 2026-00007" in answer.content.decode()


@pytest.mark.parametrize(
    ("role", "status"),
    [
        (None, 302),
        (Role.GROWER, 403),
        (Role.SELLER, 403),
        (Role.READER, 200),
        (Role.MANAGER, 200),
        (Role.OWNER, 200),
    ],
)
def test_who_may_look(
    client_for: ClientFor, people: dict[Role, Person], role: Role | None, status: int
) -> None:
    post(people[Role.OWNER])
    client = client_for(role)
    for url in (reverse("ledger:journal"), reverse("ledger:entry", args=[2026, 1])):
        assert client.get(url).status_code == status
        assert client.post(url).status_code == 403
