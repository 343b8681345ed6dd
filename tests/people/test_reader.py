"""Accountant and board: they see what they should and write nothing anywhere."""

from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

from django.apps import apps
from django.db import models
from django.test import Client
from django.urls import reverse

from fraginv.base.models import Organisation
from fraginv.base.rules.roles import Role
from fraginv.front.access import ACCESS, PUBLIC
from fraginv.people.actions.invitations import invite
from tests.conftest import People
from tests.front.rows import one_of_each
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]

# By hand, beside the table: what accountant and board come for.
OPEN = (
    *("reports:latest", "reports:month", "reports:month_pdf", "reports:month_csv"),
    *("reports:month_xlsx", "ledger:journal", "ledger:entry", "costs:bills", "costs:bill"),
    *("trade:sales", "trade:sale", "trade:receipt", "trade:customers", "trade:customer"),
    *("trade:prices", "sheets:sheet", "sheets:pdf", "front:frags", "front:colonies"),
    *("front:today", "front:find", "stock:places", "people:me"),
)
CLOSED = ("people:list", "people:invite", "upkeep:house", "trade:sell", "labels:print")
# A reader's own key to the door, and the door itself, which everybody has.
OWN = {
    *("people:password", "people:leave", "people:pin", "people:pin_off", "people:factor"),
    *("people:factor_key", "people:factor_codes", "people:factor_off", "people:factor_later"),
    *("people:sign_out",),
}
# A picture is read and nothing of it is kept, so a reader may send one; a form is none.
READ = {("post", "front:scan_frame"): 400}
# What forms of all kinds ask for, so that a page that let a reader write would write.
ANSWERS = {
    **{"pieces": 1, "size": "M", "medium": "plug", "cause": "unknown", "count": 3, "stock": 1},
    **{"name": "X", "kind": "1", "email": "", "role": "owner", "amount": "12.00", "means": "cash"},
    **{"reason": "X", "genus": "Acropora", "colony": 1, "variety": 1, "day": "2026-11-25"},
    **{
        "customer": "",
        "for_name": "X",
        "for": "X",
        "until": "",
        "rack": 1,
        "rows": 3,
        "columns": 4,
    },
    **{"state": "X", "number": "1", "first_day": "2026-11-25", "rate": "5", "basis": "invoice"},
    **{"supplier": "X", "settled": "paid", "serves": "display", "username": "x", "back": "/"},
}


def rows_of_everything() -> dict[str, list[Any]]:
    """Return every row of the house's tables."""
    return {
        table._meta.label: list(table._base_manager.order_by("pk").values()) for table in tables()
    }


def tables() -> Iterator[type[models.Model]]:
    """List the tables of the house."""
    return (one for one in apps.get_models() if one.__module__.startswith("fraginv."))


def test_a_reader_opens_what_a_reader_needs(client_for: ClientFor, people: People) -> None:
    arguments, client = one_of_each(people, by=people[Role.MANAGER]), client_for(Role.READER)
    wrong = []
    for page in OPEN:
        answer = client.get(reverse(page, kwargs=arguments(page)), follow=True)
        if answer.status_code != 200:
            wrong.append(f"{page}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)
    for page in CLOSED:
        assert client.get(reverse(page, kwargs=arguments(page))).status_code == 403


def test_a_reader_writes_nothing_anywhere(client_for: ClientFor, people: People) -> None:
    arguments, client = one_of_each(people, by=people[Role.MANAGER]), client_for(Role.READER)
    client.get("/")
    before, wrong = rows_of_everything(), []
    for page, row in ACCESS.items():
        if page in OWN or row.get("POST") == PUBLIC:
            continue
        url = reverse(page, kwargs=arguments(page))
        sent = ANSWERS | {"replay_key": str(uuid4()), "codes": arguments("front:code")["text"]}
        for method in ("post", "put", "patch", "delete"):
            answer = getattr(client, method)(url, sent)
            if answer.status_code != READ.get((method, page), 403):
                wrong.append(f"{method} {url}: {answer.status_code}")
    assert not wrong, "\n".join(wrong)
    assert rows_of_everything() == before


def test_the_same_forms_do_write_for_an_owner(client_for: ClientFor, people: People) -> None:
    """Without this, the walk above could pass because nothing that it sends can be done."""
    arguments, client = one_of_each(people, by=people[Role.MANAGER]), client_for(Role.OWNER)
    before = rows_of_everything()
    for page in ("trade:let_go", "people:put_out", "people:withdraw", "people:invite"):
        sent = ANSWERS | {"replay_key": str(uuid4())}
        answer = client.post(reverse(page, kwargs=arguments(page)), sent)
        assert answer.status_code in {200, 303}, page
    after = rows_of_everything()
    for table in ("stock.Claim", "base.Person", "people.Invitation", "people.CrewEvent"):
        assert after[table] != before[table]


def test_an_invitation_says_what_a_reader_sees(people: People, organisation: Organisation) -> None:
    link = invite("Ines Varga", role=Role.READER, email="", by=people[Role.OWNER])
    page = words_on(Client().get(link.path))
    assert organisation.name in page
    assert "for the accountant and the board: sees stock, customers, prices, sales papers" in page
    assert "changes nothing" in page
    for word in ("record losses", "sell and take", "set prices", "add people"):
        assert word not in page


def test_a_readers_pages_offer_nothing_to_press(client_for: ClientFor) -> None:
    client = client_for(Role.READER)
    for path in ("/", "/frags", "/colonies", "/trade/sales", "/trade/customers", "/trade/prices"):
        page = client.get(path).content.decode()
        own = page.count('action="/sign-out"') + page.count('action="/change"')
        assert page.count('method="post"') == own > 0
