"""Racks, troughs and systems as they are changed over HTTP."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import catalogue, moving, racks
from fraginv.stock.models import Frag, Rack, RackEvent, System, Trough
from tests.conftest import People
from tests.factories import make_frag, make_rack
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
PAGES = ("change", "withdraw", "turn", "move", "empty")


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


@pytest.fixture
def client(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower, name="Window rack")


def url(rack: Rack, what: str) -> str:
    return f"/stock/places/racks/{rack.code_id.lower()}/{what}"


@pytest.mark.parametrize("page", PAGES)
def test_who_may_open_a_page_of_a_rack(client_for: ClientFor, rack: Rack, page: str) -> None:
    assert client_for(Role.GROWER).get(url(rack, page)).status_code == 200
    for role in (Role.SELLER, Role.READER):
        assert client_for(role).get(url(rack, page)).status_code == 403
        assert client_for(role).post(url(rack, page), key()).status_code == 403
    assert client_for(None).get(url(rack, page)).status_code == 302
    client = client_for(Role.MANAGER)
    assert client.get(f"/stock/places/racks/7K3Q9FN/{page}").status_code == 404
    assert client.get(f"/stock/places/racks/7K3Q9FX/{page}").status_code in {400, 404}


@pytest.mark.parametrize("what", ["troughs", "systems"])
def test_who_may_change_a_trough_or_system(client_for: ClientFor, rack: Rack, what: str) -> None:
    number = rack.trough_id if what == "troughs" else rack.trough.system_id
    for page in ("change", "withdraw"):
        address = f"/stock/places/{what}/{number}/{page}"
        assert client_for(Role.GROWER).get(address).status_code == 200
        assert client_for(Role.READER).get(address).status_code == 403
        assert client_for(None).get(address).status_code == 302
        assert client_for(Role.GROWER).get(address.replace(str(number), "999")).status_code == 404


def test_a_rack_is_changed_turned_moved_and_taken_out_of_use(
    client: Client, grower: Person, rack: Rack
) -> None:
    trough = catalogue.add_trough(rack.trough.system, name="B", by=grower)
    sent = {"name": "Sun rack", "rows": 3, "columns": 4}
    answer = client.post(url(rack, "change"), sent | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{rack.code_id}")
    assert client.post(url(rack, "turn"), {"seq": 0} | key()).status_code == 303
    assert (
        client.post(url(rack, "move"), {"seq": 1, "trough": trough.pk} | key()).status_code == 303
    )
    now = Rack.objects.get(pk=rack.pk)
    assert (now.name, now.rows, now.turned, now.trough) == ("Sun rack", 3, True, trough)
    assert client.post(url(rack, "withdraw"), key())["Location"] == "/stock/places"
    page = words_on(client.get(f"/T/{rack.code_id}"))
    assert "This rack is out of use" in page
    assert "Moved to another trough" in page
    assert "Sun rack" not in words_on(client.get("/stock/places"))


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_the_second_of_two_who_move_a_rack_is_told(client: Client, people: People) -> None:
    grower = people[Role.GROWER]
    rack = make_rack(grower, name="Window rack")
    near, far = (catalogue.add_trough(rack.trough.system, name=n, by=grower) for n in "BC")
    page = client.get(url(rack, "move")).content.decode()
    assert 'name="seq" value="0"' in page
    racks.move_rack(rack.pk, trough=near, by=people[Role.MANAGER])
    answer = client.post(url(rack, "move"), {"seq": 0, "trough": far.pk} | key())
    assert answer.status_code == 400
    assert "Test manager has just moved Window rack: it stands in B now" in words_on(answer)
    assert RackEvent.objects.count() == 1


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_a_rack_is_emptied_into_another(client: Client, people: People) -> None:
    grower = people[Role.GROWER]
    rack, other = make_rack(grower), make_rack(grower)
    frag = make_frag(grower)
    moving.move_frag(frag.pk, rack=rack, row=2, column=2, by=grower)
    refused = client.post(url(rack, "withdraw"), key())
    assert refused.status_code == 400
    assert "Empty it first" in words_on(refused)
    quarantine = make_rack(grower, quarantine=True)
    wrong = client.post(url(rack, "empty"), {"seq": 0, "rack": quarantine.pk} | key())
    assert wrong.status_code == 400
    assert "quarantine it" in words_on(wrong)
    answer = client.post(url(rack, "empty"), {"seq": 0, "rack": other.pk} | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{other.code_id}")
    now = Frag.objects.get(pk=frag.pk)
    assert (now.rack, now.hole_row, now.hole_column) == (other, 2, 2)


def test_troughs_and_systems_are_renamed(client: Client, grower: Person) -> None:
    rack = make_rack(grower, quarantine=True)
    trough, system = rack.trough, rack.trough.system
    assert (
        client.post(
            f"/stock/places/troughs/{trough.pk}/change", {"name": "Tub"} | key()
        ).status_code
        == 303
    )
    sent = {"name": "QT room", "least_days": 40, "clean_checks": 4, "check_days": 5}
    address = f"/stock/places/systems/{system.pk}/change"
    assert client.post(address, sent | key()).status_code == 303
    assert Trough.objects.get(pk=trough.pk).name == "Tub"
    assert System.objects.get(pk=system.pk).least_days == 40
    display = make_rack(grower).trough.system
    page = client.get(f"/stock/places/systems/{display.pk}/change").content.decode()
    assert 'name="least_days"' not in page
    assert (
        client.post(
            f"/stock/places/systems/{display.pk}/change", {"name": "Reef"} | key()
        ).status_code
        == 303
    )
    assert System.objects.get(pk=display.pk).name == "Reef"
