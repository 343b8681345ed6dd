"""The pages of bills."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.costs.actions import add_bill
from fraginv.costs.models import Bill, CostKind
from fraginv.costs.rules import BillItem
from fraginv.ledger.models import Entry

ClientFor = Callable[[Role | None], Client]
DAY = date(2026, 11, 20)
LIST, ADD = "costs:bills", "costs:bill_add"

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def client(client_for: ClientFor) -> Client:
    return client_for(Role.MANAGER)


def bill(by: Person, kind: str = "Electricity", amount: int = 12_050, **given: Any) -> Bill:
    """Enter a bill."""
    return add_bill([BillItem(kind, amount)], **{"day": DAY, "by": by, **given}).bill


def words_of(answer: Any) -> str:
    """Return a page's words without its marks."""
    return " ".join(strip_tags(answer.content.decode()).split())


def form(**given: str) -> dict[str, str]:
    """Return what the form is sent with."""
    usual = {
        "kind": "Electricity",
        "amount": "120.50",
        "day": "2026-11-20",
        "supplier": "Harbour Power",
        "serves": "display",
        "display_percent": "50",
        "settled": "paid",
        "paid_by": "transfer",
        "note": "",
        "replay_key": str(uuid4()),
    }
    return usual | given


def test_empty_month_says_what_to_do(client: Client) -> None:
    page = client.get(reverse(LIST)).content.decode()
    assert "No bills in this month" in page
    assert page.count(reverse(ADD)) == 2


def test_reader_sees_no_way_to_enter(client_for: ClientFor) -> None:
    page = client_for(Role.READER).get(reverse(LIST)).content.decode()
    assert "A manager enters them" in page
    assert reverse(ADD) not in page


def test_month_shows_bills_and_what_they_come_to(client: Client, manager: Person) -> None:
    bill(manager, supplier="Harbour Power")
    bill(manager, "Salt", 4_000, serves="shared", settled="owed")
    bill(manager, "Lamp", 9_900, settled="in_kind")
    bill(manager, "Plugs", 4_210, settled="in_kind", serves="frags")
    bill(manager, "Food", 777, day=date(2026, 10, 2))
    page = client.get(reverse(LIST)).content.decode()
    for text in ("$140.50", "$20.00", "$99.00", "$42.10", "$120.50", "Harbour Power", "still owed"):
        assert text in page
    assert "$7.77" not in page
    october = client.get(reverse(LIST), {"month": "2026-10"}).content.decode()
    assert "$7.77" in october
    assert client.get(reverse(LIST), {"month": "2026-13"}).status_code == 400


def test_statements_do_not_grow_with_the_month(
    client: Client, manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for count in (1, 9):
        for place in range(count):
            bill(manager, f"Kind {place}", supplier=f"Shop {place}")
        with django_assert_max_num_queries(8):
            assert client.get(reverse(LIST)).status_code == 200


def test_long_month_is_shown_in_pieces(client: Client, manager: Person) -> None:
    for _ in range(52):
        bill(manager)
    first = client.get(reverse(LIST)).content.decode()
    assert first.count("list__link") == 50
    assert 'rel="first"' not in first
    (onward,) = re.findall(r'rel="next" href="([^"]+)"', first)
    second = client.get(reverse(LIST) + onward).content.decode()
    assert second.count("list__link") == 2
    assert 'rel="first"' in second
    assert 'rel="next"' not in second


def test_form_offers_today_and_what_is_known(client: Client, manager: Person) -> None:
    bill(manager, "Salt mix", supplier="Harbour Salt")
    page = client.get(reverse(ADD)).content.decode()
    for text in (
        'value="2026-11-25"',
        '<option value="Salt mix">',
        '<option value="Harbour Salt">',
    ):
        assert text in page


def test_entering_posts_once_and_leads_to_the_bill(client: Client) -> None:
    sent = form()
    answer = client.post(reverse(ADD), sent)
    entered = Bill.objects.get()
    assert (answer.status_code, answer["Location"]) == (
        303,
        reverse("costs:bill", args=[entered.pk]),
    )
    page = client.get(answer["Location"]).content.decode()
    for text in ("Bill B-2026-0001 entered.", "New kind of cost: Electricity", "$120.50"):
        assert text in strip_tags(page)
    assert reverse("ledger:entry", args=[2026, 1]) in page
    again = client.post(reverse(ADD), sent)
    assert again["Location"] == answer["Location"]
    assert (Bill.objects.count(), Entry.objects.count()) == (1, 1)


def test_shared_bill_takes_its_percent(client: Client) -> None:
    client.post(reverse(ADD), form(serves="shared", display_percent="81.25"))
    line = Bill.objects.get().lines.get()
    assert (line.display, line.direct) == (9_791, 2_259)
    client.post(reverse(ADD), form(serves="shared", display_percent="", replay_key=str(uuid4())))
    assert Bill.objects.latest("pk").lines.get().display == 6_025


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"amount": "0"}, "must be more than zero"),
        ({"amount": "-5"}, "must be more than zero"),
        ({"amount": "1,250.00"}, "has thousands separators"),
        ({"amount": "$12"}, "has a currency sign"),
        ({"amount": "9" * 15}, "is too large"),
        ({"amount": "12.505"}, "has too many decimals"),
        ({"amount": ""}, "Write the amount of the bill"),
        ({"kind": " "}, "Write what was paid for"),
        ({"kind": "=SUM(A1)"}, "starts like a formula"),
        ({"day": "2026-11-26"}, "is in the future"),
        ({"day": "20.11.2026"}, "Write the day as in 2026-11-25"),
        ({"day": "2026-13-01"}, "Write the day as in 2026-11-25"),
        ({"serves": "sharks"}, "sharks is not one of the available choices"),
        ({"serves": "shared", "display_percent": "101"}, "between 0 and 100 percent"),
        ({"serves": "shared", "display_percent": "-1"}, "between 0 and 100 percent"),
        ({"serves": "shared", "display_percent": "half"}, "Enter a number"),
        ({"replay_key": ""}, "came without its key"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_bad_input_is_said_and_kept(client: Client, given: dict[str, str], message: str) -> None:
    answer = client.post(reverse(ADD), form(note="meter 2", **given))
    page = answer.content.decode()
    assert answer.status_code == 400
    assert message in words_of(answer)
    assert 'value="meter 2"' in page, "what was typed is kept"
    assert not Bill.objects.exists()
    assert not CostKind.objects.exists()


def test_key_that_is_none_is_refused(client: Client) -> None:
    answer = client.post(reverse(ADD), form(replay_key="none"))
    assert answer.status_code == 400
    assert "came without its key" in answer.content.decode()
    assert not Bill.objects.exists()


def test_owed_bill_is_paid_on_its_page(client: Client, manager: Person) -> None:
    owed = bill(manager, settled="owed")
    pay = reverse("costs:bill_pay", args=[owed.pk])
    assert pay in client.get(reverse("costs:bill", args=[owed.pk])).content.decode()
    assert client.get(pay).status_code == 200
    sent = {"day": "2026-11-24", "paid_by": "cash", "replay_key": str(uuid4())}
    for _ in range(2):
        answer = client.post(pay, sent)
        assert (answer.status_code, answer["Location"]) == (
            303,
            reverse("costs:bill", args=[owed.pk]),
        )
    page = client.get(answer["Location"]).content.decode()
    assert "in cash" in page
    assert reverse("ledger:entry", args=[2026, 2]) in page
    assert Entry.objects.count() == 2
    late = client.post(pay, sent | {"replay_key": str(uuid4())})
    assert late.status_code == 400
    assert "was paid on Nov 24, 2026 already" in words_of(late)
    assert client.get(pay).status_code == 409


def test_bad_payment_is_said(client: Client, manager: Person) -> None:
    owed = bill(manager, settled="owed")
    sent = {"day": "2026-11-01", "paid_by": "cash", "replay_key": str(uuid4())}
    answer = client.post(reverse("costs:bill_pay", args=[owed.pk]), sent)
    assert answer.status_code == 400
    assert "cannot have been paid on Nov 1, 2026" in words_of(answer)
    assert Bill.objects.get().is_owed


def test_bill_that_is_none_is_not_found(client: Client) -> None:
    for name in ("costs:bill", "costs:bill_pay"):
        assert client.get(reverse(name, args=[99])).status_code == 404


def test_one_bill_is_few_statements(
    client: Client, manager: Person, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    done = bill(manager, supplier="Harbour Power")
    with django_assert_max_num_queries(6):
        client.get(reverse("costs:bill", args=[done.pk]))


@pytest.mark.parametrize(
    ("role", "see", "enter"),
    [
        (None, 302, 302),
        (Role.GROWER, 403, 403),
        (Role.SELLER, 403, 403),
        (Role.READER, 200, 403),
        (Role.MANAGER, 200, 200),
        (Role.OWNER, 200, 200),
    ],
)
def test_who_may_see_and_enter(
    client_for: ClientFor, manager: Person, role: Role | None, see: int, enter: int
) -> None:
    owed = bill(manager, settled="owed")
    someone = client_for(role)
    pay = reverse("costs:bill_pay", args=[owed.pk])
    assert someone.get(reverse(LIST)).status_code == see
    assert someone.get(reverse("costs:bill", args=[owed.pk])).status_code == see
    assert someone.get(reverse(ADD)).status_code == enter
    assert someone.get(pay).status_code == enter
    if enter != 200:
        assert someone.post(reverse(ADD), form()).status_code == enter
        someone.post(pay, {"day": "2026-11-24", "paid_by": "cash", "replay_key": str(uuid4())})
        assert Bill.objects.get().is_owed
