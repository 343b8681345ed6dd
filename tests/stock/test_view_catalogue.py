"""Writing down varieties, colonies and places, over HTTP."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Colony, Rack, System, Trough, Variety
from fraginv.stock.queries.places import TROUGHS
from tests.conftest import People
from tests.factories import make_frag, make_lot, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


@pytest.fixture
def grower(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


def test_variety_without_a_caution_is_saved_at_once(grower: Client) -> None:
    sent = {"name": "Pier Moss", "genus": "Zoanthus", "care": "Some flow."} | key()
    answer = grower.post("/stock/varieties/add", sent)
    variety = Variety.objects.get()
    assert answer["Location"] == f"/stock/colonies/add?variety={variety.pk}"
    assert (variety.group, variety.care) == ("zoanthid", "Some flow.")


@pytest.mark.parametrize(
    ("genus", "species", "shown", "absent"),
    [
        # CITES Appendix II lists all Scleractinia; Acropora palmata: 79 FR 53851.
        ("Acropora", "palmata", ["cites", "protected"], []),
        ("Acropora", "millepora", ["cites"], ["protected"]),
        ("Acropora", "", ["cites", "protected"], []),
        ("Montipora", "digitata", ["cites"], ["protected"]),
    ],
)
def test_what_the_law_says_is_read_before_a_variety_is_saved(
    grower: Client, genus: str, species: str, shown: list[str], absent: list[str]
) -> None:
    sent: dict[str, Any] = {"name": "Harbour Lantern", "genus": genus, "species": species}
    first = grower.post("/stock/varieties/add", sent | key())
    text = first.content.decode()
    assert first.status_code == 200
    assert "Not saved yet" in text
    assert not Variety.objects.exists()
    for caution in shown:
        assert f'name="seen" value="{caution}"' in text
    for caution in absent:
        assert f'name="seen" value="{caution}"' not in text
    assert grower.post("/stock/varieties/add", sent | {"seen": shown} | key()).status_code == 303
    assert Variety.objects.get().species == species


def test_unknown_genus_is_said_at_its_field(grower: Client) -> None:
    answer = grower.post("/stock/varieties/add", {"name": "New", "genus": "Acropra"} | key())
    assert answer.status_code == 400
    assert "Did you mean Acropora" in answer.content.decode()
    assert not Variety.objects.exists()


def test_colony_goes_to_its_page_once_its_caution_was_read(grower: Client, people: People) -> None:
    variety = make_variety(people[Role.GROWER], species="millepora")
    sent = {
        "variety": variety.pk,
        "origin": "bought",
        "acquired_on": today().isoformat(),
        "rest_days": 45,
    }
    assert grower.get(f"/stock/colonies/add?variety={variety.pk}").status_code == 200
    assert grower.post("/stock/colonies/add", sent | key()).status_code == 200
    assert not Colony.objects.exists()
    answer = grower.post("/stock/colonies/add", sent | {"seen": "cites"} | key())
    colony = Colony.objects.get()
    assert answer["Location"] == f"/T/{colony.code_id}"
    assert (colony.origin, colony.rest_days) == ("bought", 45)
    late = sent | {"acquired_on": "2999-01-01", "seen": "cites"} | key()
    refused = grower.post("/stock/colonies/add", late)
    assert refused.status_code == 400
    assert "has not come yet" in refused.content.decode()


def test_places_from_the_water_to_the_rack(grower: Client) -> None:
    grower.post("/stock/places/systems/add", {"name": "Hospital", "quarantine": "on"} | key())
    system = System.objects.get()
    grower.post(f"/stock/places/systems/{system.pk}/add", {"name": "B"} | key())
    trough = Trough.objects.get()
    sent = {"name": "Left", "rows": 4, "columns": 8}
    answer = grower.post(f"/stock/places/troughs/{trough.pk}/add", sent | key())
    rack = Rack.objects.get()
    assert answer["Location"] == f"/T/{rack.code_id}"
    assert (system.quarantine, rack.rows, rack.columns) == (True, 4, 8)
    again = grower.post(f"/stock/places/troughs/{trough.pk}/add", sent | key())
    assert again.status_code == 400
    assert "There is a rack Left here already" in again.content.decode()
    page = grower.get("/stock/places").content.decode()
    assert all(name in page for name in ("Hospital", "Left", "4 rows of 8 holes"))


def test_places_count_frags_and_pieces(grower: Client, people: People) -> None:
    by = people[Role.GROWER]
    rack = make_rack(by)
    place_frags([make_lot(by, 30).pk, make_frag(by).pk], rack=rack, by=by)
    pages = ("/stock/places", f"/systems/{rack.trough.system_id}", f"/T/{rack.code_id}")
    for page in (*pages, f"/troughs/{rack.trough_id}"):
        assert "2 frags, 31 pieces" in words_on(grower.get(page))


def test_places_and_systems_are_shown_some_troughs_at_a_time(grower: Client) -> None:
    first = System.objects.create(name="Display")
    System.objects.create(name="Bare")
    Trough.objects.bulk_create(
        Trough(system=first, name=f"Trough {number:02d}") for number in range(TROUGHS + 1)
    )
    for path in ("/stock/places", f"/systems/{first.pk}"):
        page = grower.get(path)
        words = page.content.decode()
        assert ("Trough 19" in words, "Trough 20" in words, ">Bare<" in words) == (1, 0, 0)
        rest = grower.get(path, {"after": page.context["page"].after}).content.decode()
        assert ("Trough 19" in rest, "Trough 20" in rest) == (False, True)
        assert (">Bare<" in rest) is (path == "/stock/places")
        assert grower.get(path, {"after": 99_999}).status_code == 404


def test_places_that_are_not_there(grower: Client, people: People) -> None:
    make_rack(people[Role.GROWER])
    assert grower.get("/stock/places/systems/999/add").status_code == 404
    assert grower.get("/stock/places/troughs/999/add").status_code == 404
