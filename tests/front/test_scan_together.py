"""Many phones and tabs at once: each scan is done once, and nobody's move is lost unseen."""

from collections.abc import Callable, Iterable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag, FragEvent, Loss
from fraginv.stock.queries.differences import stock_differences
from tests.conftest import People
from tests.factories import make_frags, make_lot, make_rack
from tests.front.scans import JSON, sent
from tests.together import together

ClientFor = Callable[[Role | None], Client]
pytestmark = pytest.mark.django_db(transaction=True)
TABS = 6


def all_answered(found: Iterable[Any]) -> list[Any]:
    """Return what was answered; nothing was raised instead."""
    answers = list(found)
    assert not [one for one in answers if isinstance(one, Exception)]
    return answers


def test_one_scan_sent_by_many_tabs_at_once_is_done_once(
    client_for: ClientFor, people: People
) -> None:
    lot = make_lot(people[Role.GROWER], 9)
    fields = {"code": lot.code_id, "cause": "fell", "replay_key": str(uuid4())}
    clients = [client_for(Role.GROWER) for _ in range(TABS)]

    def send(client: Client) -> Any:
        return client.post("/scan/lose", fields, headers=JSON, follow=True)

    answers = [answer.json() for answer in all_answered(together(send, on=clients))]
    assert answers == [answers[0]] * TABS
    assert answers[0]["said"] == "1 piece written off: Fell. 8 left of this lot."
    assert Frag.objects.get(pk=lot.pk).pieces == 8
    assert Loss.objects.count() == 1
    assert list(stock_differences()) == []


def test_many_phones_at_one_lot_each_count(client_for: ClientFor, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 4)
    clients = [client_for(Role.GROWER) for _ in range(TABS)]

    def send(client: Client) -> Any:
        return sent(client, "lose", lot.code_id, cause="fell")

    answers = all_answered(together(send, on=clients))
    done = [answer for answer in answers if answer.status_code == 200]
    refused = [answer for answer in answers if answer.status_code != 200]
    left = Frag.objects.get(pk=lot.pk).pieces
    assert (len(done), left) == (4 - left, 4 - len(done))
    for answer in refused:
        assert answer.status_code in {400, 409}
        assert show_code(lot.code_id) in answer.json()["message"]
    assert list(stock_differences()) == []


def test_two_people_moving_one_rack_at_once(client_for: ClientFor, people: People) -> None:
    grower = people[Role.GROWER]
    here, there = make_rack(grower), make_rack(grower)
    frags = make_frags(grower, 5)
    clients = {here.code_id: client_for(Role.GROWER), there.code_id: client_for(Role.OWNER)}

    def walk(rack: str) -> list[int]:
        return [sent(clients[rack], "move", frag.code_id, rack=rack).status_code for frag in frags]

    walks = together(walk, on=clients)
    moved = sum(list(walk).count(200) for walk in walks if isinstance(walk, list))
    assert {code for walk in walks if isinstance(walk, list) for code in walk} <= {200, 409}
    assert FragEvent.objects.filter(kind="placed").count() == moved >= len(frags)
    assert all(frag.rack in (here, there) for frag in Frag.objects.all())
    assert list(stock_differences()) == []
