"""What is done to one frag or many from their pages, over HTTP."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.claims import take_for_sale
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.models import Frag, System
from fraginv.stock.queries.differences import stock_differences
from tests.conftest import People
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


@pytest.fixture
def grower(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


@pytest.fixture
def frags(people: People) -> list[Frag]:
    return make_frags(people[Role.GROWER], 3)


def codes(frags: list[Frag]) -> list[str]:
    return [frag.code_id for frag in frags]


def stages() -> list[str]:
    return list(Frag.objects.order_by("pk").values_list("stage", flat=True))


def test_many_are_graded_and_the_list_comes_back(grower: Client, frags: list[Frag]) -> None:
    shown = grower.get(
        "/stock/frags/grade", {"codes": codes(frags), "back": "/frags?stage=healing"}
    )
    assert shown.status_code == 200
    assert shown.content.decode().count('name="codes"') == 3
    sent = {"codes": codes(frags), "size": "M", "heads": 5, "back": "/frags?stage=healing"} | key()
    answer = grower.post("/stock/frags/grade", sent)
    assert (answer.status_code, answer["Location"]) == (303, "/frags?stage=healing")
    assert set(Frag.objects.values_list("stage", "size", "heads")) == {("ready", "M", 5)}


@pytest.mark.parametrize(
    "back", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", ""]
)
def test_no_way_back_leads_elsewhere(grower: Client, frags: list[Frag], back: str) -> None:
    sent = {"codes": codes(frags), "back": back} | key()
    answer = grower.post("/stock/frags/healed", sent)
    assert answer["Location"] == f"/T/{frags[0].code_id}"
    assert stages() == ["growing"] * 3


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_one_that_cannot_keeps_the_others_as_they_were(
    grower: Client, people: People, frags: list[Frag]
) -> None:
    grower.post("/stock/frags/grade", {"codes": codes(frags), "size": "S"} | key())
    take_for_sale(frags[1].pk, pieces=1, by=people[Role.OWNER])
    sent = {"codes": codes(frags), "size": "L"} | key()
    answer = grower.post("/stock/frags/grade", sent)
    assert answer.status_code == 400
    code = show_code(frags[1].code_id)
    assert f"{code}: A frag that is sold cannot be graded" in words_on(answer)
    assert list(Frag.objects.values_list("size", flat=True)) == ["S"] * 3


@pytest.mark.parametrize(
    ("sent", "status", "said"),
    [
        ({}, 400, "Choose from 1 to 500 frags"),
        ({"codes": ["7K3Q9FX"]}, 400, "A character in 7K3-Q9F-X is wrong"),
        ({"codes": ["7K3Q9FN"]}, 404, "Not frags: 7K3-Q9F-N"),
    ],
)
def test_frags_that_are_none(
    grower: Client, frags: list[Frag], sent: dict[str, Any], status: int, said: str
) -> None:
    for answer in (
        grower.get("/stock/frags/grade", sent),
        grower.post("/stock/frags/grade", sent | {"size": "M"} | key()),
    ):
        assert answer.status_code == status
        assert said in words_on(answer)
    assert stages() == ["healing"] * 3


def test_placing_in_a_hole(grower: Client, people: People) -> None:
    frag, rack = make_frag(people[Role.GROWER]), make_rack(people[Role.GROWER])
    sent = {"codes": [frag.code_id], "rack": rack.pk, "row": 2, "column": 3}
    assert grower.post("/stock/frags/place", sent | key()).status_code == 303
    now = Frag.objects.get(pk=frag.pk)
    assert (now.rack, now.hole_row, now.hole_column) == (rack, 2, 3)
    other = make_frag(people[Role.GROWER])
    came = {"codes": [other.code_id], "rack": rack.pk, "row": 2, "column": 3}
    assert grower.post("/stock/frags/place", came | {"other": "unknown"} | key()).status_code == 303
    assert Frag.objects.get(pk=frag.pk).hole_row is None
    assert Frag.objects.get(pk=other.pk).hole_row == 2
    wrong = grower.post("/stock/frags/place", sent | {"row": 99} | key())
    assert wrong.status_code == 400
    assert "6 rows and 10 columns" in wrong.content.decode()


def test_the_page_that_places_leads_to_the_drawn_rack(grower: Client, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    page = grower.get("/stock/frags/place", {"codes": frag.code_id}).content.decode()
    assert ("as it is drawn" in page, 'href="/stock/places">All racks' in page) == (False, True)
    rack = make_rack(people[Role.GROWER])
    place_frags([frag.pk], rack=rack, by=people[Role.GROWER])
    page = grower.get("/stock/frags/place", {"codes": frag.code_id}).content.decode()
    assert f'href="/T/{rack.code_id}">{rack}, as it is drawn' in page


def test_many_are_placed_in_the_next_free_holes(
    grower: Client, people: People, frags: list[Frag]
) -> None:
    rack = make_rack(people[Role.GROWER])
    sent = {"codes": codes(frags), "rack": rack.pk, "holes": "next"}
    assert b'name="row"' not in grower.get("/stock/frags/place", {"codes": codes(frags)}).content
    assert grower.post("/stock/frags/place", sent | key()).status_code == 303
    assert [Frag.objects.get(pk=frag.pk).hole_column for frag in frags] == [1, 2, 3]
    assert grower.post("/stock/frags/place", sent | {"holes": "unknown"} | key()).status_code == 303
    assert set(Frag.objects.values_list("rack", "hole_row")) == {(rack.pk, None)}


def test_a_loss_says_what_was_lost_and_why(grower: Client, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 10)
    url = f"/stock/frags/{lot.code_id.lower()}/lose"
    assert b"Brown jelly" in grower.get(url).content
    wrong = grower.post(url, {"pieces": 11, "cause": "pest"} | key())
    assert wrong.status_code == 400
    assert "has 10 living; 11 cannot be lost" in wrong.content.decode()
    answer = grower.post(url, {"pieces": 3, "cause": "brown jelly", "note": "left end"} | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{lot.code_id}")
    assert Frag.objects.get(pk=lot.pk).pieces == 7


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_what_was_graded_too_early_grows_on(grower: Client, frags: list[Frag]) -> None:
    grower.post("/stock/frags/grade", {"codes": codes(frags), "size": "M"} | key())
    refused = grower.post("/stock/frags/healed", {"codes": codes(frags)} | key())
    assert refused.status_code == 400
    assert "is graded ready already" in refused.content.decode()
    answer = grower.post("/stock/frags/not-ready", {"codes": codes(frags[:1])} | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{frags[0].code_id}")
    assert stages() == ["growing", "ready", "ready"]
    page = grower.get(f"/T/{frags[0].code_id}").content.decode()
    assert "Not ready after all, growing" in page
    assert list(stock_differences()) == []
    again = grower.post("/stock/frags/not-ready", {"codes": codes(frags[:1])} | key())
    assert again.status_code == 400


def test_setting_apart_keeping_back_and_back_again(grower: Client, people: People) -> None:
    frag = make_frag(people[Role.GROWER], ready=True)
    rack = make_rack(people[Role.GROWER], quarantine=True)
    System.objects.filter(quarantine=True).update(least_days=0, clean_checks=0)
    base = f"/stock/frags/{frag.code_id}"
    steps: list[tuple[str, dict[str, Any], str, bool]] = [
        ("set-apart", {"reason": "spots"}, "apart", True),
        ("release", {}, "apart", False),
        ("quarantine", {"rack": rack.pk, "reason": "new"}, "quarantined", True),
        ("release", {}, "quarantined", False),
        ("keep-back", {"kept": "yes"}, "kept_back", True),
        ("keep-back", {"kept": "no"}, "kept_back", False),
    ]
    for step, sent, column, value in steps:
        assert grower.get(f"{base}/{step}").status_code == 200
        assert grower.post(f"{base}/{step}", sent | key())["Location"] == f"/T/{frag.code_id}"
        assert getattr(Frag.objects.get(pk=frag.pk), column) is value


def test_a_rack_of_the_display_is_no_quarantine(grower: Client, people: People) -> None:
    frag, rack = make_frag(people[Role.GROWER]), make_rack(people[Role.GROWER])
    answer = grower.post(f"/stock/frags/{frag.code_id}/quarantine", {"rack": rack.pk} | key())
    assert answer.status_code == 400
    assert Frag.objects.get(pk=frag.pk).quarantined is False


def test_the_number_of_a_gifts_sale_is_written_down_as_it_is(
    grower: Client, frags: list[Frag]
) -> None:
    """Sales stand above this floor, so that the page says what it does not look up."""
    page = grower.get("/stock/frags/give", {"codes": frags[0].code_id})
    assert "It is written down and not looked up." in words_on(page)
    sent = {"codes": frags[0].code_id, "why": "sale", "paper": "S-2026-9999"}
    assert grower.post("/stock/frags/give", sent | key()).status_code == 303
    log = words_on(grower.get(f"/T/{frags[0].code_id}"))
    assert "Given: 1 piece, with a sale, S-2026-9999" in log
