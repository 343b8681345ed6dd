"""Receiving pieces, with what they cost."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Party
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.roles import Role
from fraginv.base.show import show_day
from fraginv.costs.models import Bill
from fraginv.front.queries.differences import differences
from fraginv.stock.actions.arrivals import Incoming, receive_pieces
from fraginv.stock.models import Arrival, Frag, Rack, Variety
from tests.conftest import People
from tests.factories import make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def tub(people: People) -> Rack:
    """A rack in quarantine, beside one in the display's water."""
    make_rack(people[Role.GROWER])
    return make_rack(people[Role.GROWER], quarantine=True)


@pytest.fixture
def moss(people: People) -> Variety:
    """A zoanthid, which may carry palytoxin."""
    return make_variety(people[Role.GROWER], name="Pier Moss", genus="Zoanthus")


def sent(variety: Variety, rack: Rack, **more: Any) -> dict[str, Any]:
    """Return what the form sends at least, with what stood above its button."""
    start = {
        "variety_1": variety.pk,
        "pieces_1": 3,
        "origin": "bought",
        "rack": rack.pk,
        "day": today().isoformat(),
        "medium": "plug",
        "settled": "paid",
        "paid_by": "transfer",
        "seen": ["palytoxin", "cites", "protected"],
    }
    return start | more | {"replay_key": str(uuid4())}


def test_quarantine_is_proposed_and_cautions_stand_before_it_is_saved(
    client_for: ClientFor, tub: Rack, moss: Variety
) -> None:
    client = client_for(Role.GROWER)
    page = client.get("/receive").content.decode()
    assert f'<option value="{tub.pk}" selected>' in page
    assert 'name="cost"' not in page
    answer = client.post("/receive", sent(moss, tub, seen=[]))
    assert answer.status_code == 200
    assert "May carry palytoxin" in answer.content.decode()
    assert not Arrival.objects.exists()
    answer = client.post("/receive", sent(moss, tub), follow=True)
    page = answer.content.decode()
    assert "They are here." in page
    assert f"/labels/?arrival={Arrival.objects.get().pk}" in page
    assert Frag.objects.filter(quarantined=True).count() == 3
    day = show_day(today(), organisation())
    code = Frag.objects.all()[0].code_id
    for path in (f"/arrivals/{Arrival.objects.get().pk}", "/frags"):
        assert words_on(client.get(path)).count(f"received {day}") == 3
    assert f"Received {day} (0 days)" in words_on(client.get(f"/T/{code}"))
    assert f"received {day};" in words_on(client.get(f"/racks/{tub.code_id}/frags/{code}"))
    labels = client.get(f"/labels/?arrival={Arrival.objects.get().pk}").content.decode()
    assert all(frag.code_id[:3] in labels for frag in Frag.objects.all())


def test_the_cost_becomes_a_bill_for_the_frags_alone(
    client_for: ClientFor, tub: Rack, moss: Variety
) -> None:
    client = client_for(Role.MANAGER)
    more = {"supplier": "Saltmarsh Corals", "invoice": "INV 7", "cost": "120.50"}
    page = client.post("/receive", sent(moss, tub, **more), follow=True).content.decode()
    bill = Bill.objects.get()
    assert bill.label in page
    assert "of livestock is entered for them" in page
    assert (bill.amount, bill.serves, bill.note) == (
        12_050,
        "frags",
        "3 pieces received, invoice INV 7",
    )
    assert bill.supplier == Party.objects.get(name="Saltmarsh Corals")
    assert [line.kind.name for line in bill.lines.all()] == ["livestock"]
    assert "$120.50" in page
    grower = client_for(Role.GROWER).get(f"/arrivals/{Arrival.objects.get().pk}").content.decode()
    assert "120.50" not in grower
    assert not list(differences())


def test_the_cost_is_entered_later_and_once(
    client_for: ClientFor, people: People, tub: Rack, moss: Variety
) -> None:
    arrival = receive_pieces([Incoming(moss, 2)], rack=tub, by=people[Role.GROWER])
    url = f"/arrivals/{arrival.pk}/cost"
    manager = client_for(Role.MANAGER)
    assert manager.get(url).status_code == 200
    form = {"cost": "9.00", "settled": "owed", "paid_by": "cash"}
    assert manager.post(url, form | {"replay_key": str(uuid4())}).status_code == 303
    assert Bill.objects.get().settled == "owed"
    late = manager.post(url, form | {"replay_key": str(uuid4())})
    assert "written down already" in late.content.decode()
    assert manager.get(url).status_code == 409
    assert manager.post(url, {"replay_key": str(uuid4())}).status_code == 400
    assert Bill.objects.count() == 1
    assert client_for(Role.GROWER).get(url).status_code == 403
    assert not list(differences())


def test_several_varieties_and_lots_at_once(
    client_for: ClientFor, people: People, tub: Rack, moss: Variety
) -> None:
    other = make_variety(people[Role.GROWER])
    more = {"variety_2": other.pk, "pieces_2": 20, "lot_2": "on", "origin": "on loan"}
    client = client_for(Role.GROWER)
    page = client.post("/receive", sent(moss, tub, **more), follow=True).content.decode()
    assert sorted(Frag.objects.values_list("pieces", flat=True)) == [1, 1, 1, 20]
    assert "Not ours to sell" in page
    assert "came in" in client.get("/arrivals").content.decode().lower()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"pieces_1": ""}, "This field is required"),
        ({"pieces_1": "0"}, "0"),
        ({"pieces_2": "4"}, "Choose the variety"),
        ({"variety_1": "999999"}, "Select a valid choice"),
        ({"origin": "cut here"}, "Select a valid choice"),
        ({"day": "2999-01-01"}, "has not come yet"),
        ({"first_code": "7K3"}, "7 characters"),
        ({"cost": "-1"}, "more than nothing"),
        ({"cost": "x"}, "x"),
    ],
)
def test_what_cannot_be_leaves_nothing(
    client_for: ClientFor, tub: Rack, moss: Variety, more: dict[str, str], said: str
) -> None:
    answer = client_for(Role.OWNER).post("/receive", sent(moss, tub, **more))
    assert answer.status_code == 400
    assert said in answer.content.decode()
    assert not Arrival.objects.exists()
    assert not Bill.objects.exists()


def test_the_displays_water_needs_a_reason(client_for: ClientFor, tub: Rack, moss: Variety) -> None:
    rack = Rack.objects.exclude(pk=tub.pk).get()
    client = client_for(Role.GROWER)
    answer = client.post("/receive", sent(moss, rack))
    assert answer.status_code == 400
    assert "shares water with the display" in answer.content.decode()
    why = {"no_quarantine_because": "from our own holding tank"}
    assert client.post("/receive", sent(moss, rack, **why)).status_code == 303
    code = Frag.objects.order_by("pk").values_list("code_id", flat=True)[0]
    page = client.get(f"/T/{code}").content.decode()
    assert "no quarantine: from our own holding tank" in page


def test_who_may_open_what(client_for: ClientFor, people: People, tub: Rack, moss: Variety) -> None:
    arrival = receive_pieces([Incoming(moss, 2)], rack=tub, by=people[Role.GROWER])
    for role in (Role.SELLER, Role.READER):
        assert client_for(role).get("/receive").status_code == 403
        assert client_for(role).get(f"/arrivals/{arrival.pk}").status_code == 200
    assert client_for(None).get("/receive")["Location"].startswith("/sign-in")
    assert client_for(None).get("/arrivals")["Location"].startswith("/sign-in")
    assert client_for(Role.GROWER).get("/arrivals/999999").status_code == 404
    assert client_for(Role.GROWER).get("/arrivals/x").status_code == 404
    assert client_for(Role.GROWER).get("/labels/?arrival=x").status_code == 400


def test_pages_ask_as_much_for_many_as_for_one(
    client_for: ClientFor,
    people: People,
    tub: Rack,
    moss: Variety,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.OWNER)
    for count in (1, 10):
        for _ in range(count):
            items = [Incoming(moss, count)]
            arrival = receive_pieces(items, rack=tub, by=people[Role.GROWER])
        with django_assert_max_num_queries(4):
            client.get("/arrivals")
        with django_assert_max_num_queries(5):
            client.get(f"/arrivals/{arrival.pk}")
        with django_assert_max_num_queries(14):
            client.get("/receive")
