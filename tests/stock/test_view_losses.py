"""Writing off over HTTP: one frag, many, scanned ones, and taking back."""

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag, Loss
from fraginv.stock.rules.holds import ClaimKind
from tests.conftest import People
from tests.factories import make_frag, make_frags, make_lot
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


@pytest.fixture
def grower(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


def pieces() -> list[int]:
    return list(Frag.objects.order_by("pk").values_list("pieces", flat=True))


def test_five_at_once_and_back_again(grower: Client, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 4)
    lot = make_lot(people[Role.GROWER], 9)
    codes = [frag.code_id for frag in [*frags, lot]]
    shown = grower.get("/stock/frags/lose", {"codes": codes, "back": "/frags"})
    assert f"pieces_{lot.code_id}" in shown.content.decode()
    sent = {"codes": codes, "cause": "pest", "day": today(), "back": "/frags"}
    answer = grower.post("/stock/frags/lose", sent | {f"pieces_{lot.code_id}": 4} | key())
    assert answer.status_code == 303
    assert pieces() == [0, 0, 0, 0, 5]
    after = grower.get(answer["Location"])
    assert "8 pieces written off as lost" in words_on(after)
    assert "Take all 5 back" in words_on(after)
    ids = list(Loss.objects.values_list("pk", flat=True))
    answer = grower.post("/stock/losses/undo", {"losses": ids, "back": "/frags"} | key())
    assert answer["Location"] == "/frags"
    assert pieces() == [1, 1, 1, 1, 9]
    assert "taken back" in words_on(grower.get("/stock/losses"))


def test_codes_are_scanned_into_one_field(grower: Client, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 3)
    asked = grower.get("/stock/frags/lose")
    assert asked.status_code == 200
    assert b'name="cause"' not in asked.content
    text = f"{frags[0].code_id}\n{frags[1].code_id.lower()} {frags[0].code_id}"
    shown = grower.get("/stock/frags/lose", {"more": text, "codes": frags[2].code_id})
    assert shown.status_code == 200
    body = shown.content.decode().split('<form class="form" method="post"')[1]
    assert body.count('name="codes"') == 3
    wrong = grower.get("/stock/frags/lose", {"more": f"{frags[0].code_id} XX"})
    assert wrong.status_code == 400
    assert 'name="cause"' in wrong.content.decode()


def test_a_lot_is_not_lost_beyond_what_it_has(grower: Client, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 9)
    sent = {"codes": [lot.code_id], "cause": "pest", "day": today()}
    wrong = grower.post("/stock/frags/lose", sent | {f"pieces_{lot.code_id}": 10} | key())
    assert (wrong.status_code, pieces()) == (400, [9])
    assert "has 9 living; 10 cannot be lost" in words_on(wrong)
    without = grower.post("/stock/frags/lose", sent | key())
    assert (without.status_code, pieces()) == (400, [9])


@pytest.mark.parametrize(
    ("role", "said"),
    [(Role.GROWER, "2 of them were put aside. Tell a seller."), (Role.MANAGER, "Ines Varga (2)")],
)
def test_whose_pieces_died_is_said_to_who_may_know(
    client_for: ClientFor, people: People, role: Role, said: str
) -> None:
    lot = make_lot(people[Role.GROWER], 2, ready=True)
    owner = people[Role.OWNER]
    hold_frag(lot.pk, pieces=2, kind=ClaimKind.NAMED, by=owner, for_name="Ines Varga")
    sent = {"pieces": 2, "cause": "rtn", "day": ""} | key()
    client = client_for(role)
    answer = client.post(f"/stock/frags/{lot.code_id}/lose", sent)
    assert answer.status_code == 303
    page = words_on(client.get(answer["Location"]))
    assert said in page
    assert ("Ines Varga" in page) == (role == Role.MANAGER)
    assert "2 pieces written off" in page
    assert "Take it back" in page


def test_after_the_hour_nothing_offers_to_take_it_back(grower: Client, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    loss = record_loss(frag.pk, pieces=1, cause="fell", by=people[Role.GROWER])
    for url in (f"/T/{frag.code_id}", "/stock/losses"):
        assert "ake it back" in words_on(grower.get(url)) or "Take back" in words_on(
            grower.get(url)
        )
    with clock.at(clock.now() + timedelta(minutes=61)):
        for url in (f"/T/{frag.code_id}", "/stock/losses"):
            words = words_on(grower.get(url))
            assert "Take it back" not in words
            assert "Take back" not in words
        refused = grower.post("/stock/losses/undo", {"losses": loss.pk} | key())
    assert refused.status_code == 200
    assert "more than an hour ago" in words_on(refused)
    assert pieces() == [0]


def test_others_may_look_and_not_undo(client_for: ClientFor, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    loss = record_loss(frag.pk, pieces=1, cause="fell", by=people[Role.GROWER])
    for role in (Role.SELLER, Role.READER):
        client = client_for(role)
        assert "Take back" not in words_on(client.get("/stock/losses"))
        assert client.post("/stock/losses/undo", {"losses": loss.pk} | key()).status_code == 403
        assert client.get("/stock/frags/lose").status_code == 403
    assert client_for(None).get("/stock/losses").status_code == 302


def test_missing_and_bad_ones(grower: Client) -> None:
    assert "Nothing was lost yet" in words_on(grower.get("/stock/losses"))
    assert grower.get("/stock/losses", {"after": "x"}).status_code == 400
    assert grower.get("/stock/losses", {"after": "99"}).status_code == 404
    assert grower.get("/stock/frags/lose", {"codes": "7K3-Q9F-3"}).status_code == 400
    refused = grower.post("/stock/losses/undo", {"losses": "99"} | key())
    assert "no such loss" in words_on(refused)
    refused = grower.post("/stock/losses/undo", key())
    assert "Choose at least one loss" in words_on(refused)


def test_as_many_questions_for_many_as_for_one(
    grower: Client, people: People, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for count in (1, 10):
        for frag in make_frags(people[Role.GROWER], count):
            record_loss(frag.pk, pieces=1, cause="fell", by=people[Role.GROWER])
        with django_assert_max_num_queries(5):
            grower.get("/stock/losses")
        living = make_frags(people[Role.GROWER], count)
        with django_assert_max_num_queries(5):
            grower.get("/stock/frags/lose", {"codes": [frag.code_id for frag in living]})
