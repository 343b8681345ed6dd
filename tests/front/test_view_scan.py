"""Scanning over HTTP: what each scan does, once, and what is refused in words."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, FragEvent
from tests.factories import make_frag

ClientFor = Callable[[Role | None], Client]
JSON = {"accept": "application/json"}


@pytest.fixture
def grower_client(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


def sent(client: Client, act: str, code: str, **more: Any) -> Any:
    """Send one scan as a phone does."""
    fields = {"code": code, "replay_key": str(uuid4())} | more
    return client.post(f"/scan/{act}", fields, headers=JSON)


def kinds(frag: Frag) -> list[str]:
    return list(FragEvent.objects.filter(frag=frag).order_by("seq").values_list("kind", flat=True))


def test_the_page_shows_the_acts_of_the_role(client_for: ClientFor) -> None:
    offered = {}
    for role in (Role.GROWER, Role.SELLER, Role.READER):
        page = client_for(role).get("/scan").content.decode()
        offered[role] = [
            act for act in ("look", "seen", "move", "ready", "lose") if f'"{act}" data-b' in page
        ]
    assert offered == {
        Role.GROWER: ["look", "seen", "move", "ready", "lose"],
        Role.SELLER: ["look"],
        Role.READER: ["look"],
    }


def test_seen(grower_client: Client, grower: Person) -> None:
    frag = make_frag(grower)
    answer = sent(grower_client, "seen", frag.code_id)
    assert answer.status_code == 200
    told = answer.json()
    assert (told["ok"], told["code"], told["said"]) == (True, frag.code_id, "Seen, fine.")
    assert told["name"] == frag.variety.name
    assert kinds(frag) == ["cut", "inspected"]
