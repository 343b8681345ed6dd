"""What is written down of the organisation, and what of it can no longer change."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client
from playwright.sync_api import Page

from fraginv.base.models import Organisation
from fraginv.base.rules.roles import Role
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.reading import words_on
from tests.trade.rows import open_shop

ClientFor = Callable[[Role | None], Client]


def facts(**more: str) -> dict[str, str]:
    """Return the form as it is shown, with a key of its own."""
    return {
        "name": "Tidewater Hall", "currency": "USD", "zone": "America/Chicago", "locale": "en_GB",
        "paper": "a4", "label_host": "TIDE.TEST", "address": "1 Quay Road\nNorthmark",
        "email": "desk@tide.example", "phone": "555-0100", "replay_key": str(uuid4()),
    } | more  # fmt: skip


@pytest.mark.parametrize("role", [*Role, None])
def test_who_may(people: People, client_for: ClientFor, role: Role | None) -> None:
    may = role in {Role.MANAGER, Role.OWNER}
    expected = 200 if may else 302 if role is None else 403
    assert client_for(role).get("/organisation").status_code == expected
    sent = client_for(role).post("/organisation", facts())
    assert sent.status_code == (303 if may else expected)
    assert (Organisation.objects.get().name == "Tidewater Hall") is may


def test_all_of_it_is_written(people: People, client_for: ClientFor) -> None:
    client_for(Role.OWNER).post("/organisation", facts())
    row = Organisation.objects.get()
    kept = {name: getattr(row, name) for name in facts() if name != "replay_key"}
    sent = facts()
    del sent["replay_key"]
    assert kept == sent | {"address": "1 Quay Road\r\nNorthmark".replace("\r", "")}


def test_the_currency_stays_once_amounts_are_written(people: People, client_for: ClientFor) -> None:
    client = client_for(Role.OWNER)
    assert client.post("/organisation", facts(currency="EUR")).status_code == 303
    assert client.post("/organisation", facts(currency="USD")).status_code == 303
    open_shop(people).priced_lot()
    answer = client.post("/organisation", facts(currency="EUR"))
    assert answer.status_code == 400
    assert "Amounts are written in USD already" in words_on(answer)
    assert Organisation.objects.get().currency == "USD"


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"zone": "Reef/Nowhere"}, "no time zone"), ({"currency": "XXQ"}, "XXQ"),
     ({"email": "desk"}, "valid email"), ({"label_host": "a b"}, "host")],
    ids=["zone", "currency", "mail", "host"],
)  # fmt: skip
def test_what_cannot_be(
    people: People, client_for: ClientFor, wrong: dict[str, str], said: str
) -> None:
    answer = client_for(Role.OWNER).post("/organisation", facts(**wrong))
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert Organisation.objects.get().name == "Tidewater Hall Aquarium"


def test_on_a_phone(live_page: Page) -> None:
    sign_in(live_page, Role.OWNER)
    live_page.goto("/upkeep/")
    live_page.get_by_role("link", name="Organisation").click()
    assert_accessible(live_page)
    assert_fits(live_page)
    live_page.locator("[name=name]").fill("Tidewater Hall")
    live_page.get_by_role("button", name="Save").click()
    live_page.wait_for_url("**/upkeep/")
    assert Organisation.objects.get().name == "Tidewater Hall"
