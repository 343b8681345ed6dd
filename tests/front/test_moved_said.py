"""What pages and phones say of a move: who gave way, what is set apart, what lost its place."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.front.rules.drawn import say_event
from fraginv.stock.actions import arranging, catalogue, losses, moving
from fraginv.stock.actions.leaving import record_death
from fraginv.stock.actions.stops import start_stop
from fraginv.stock.models import Frag, Rack
from fraginv.stock.queries.differences import stock_differences
from tests.factories import make_colony, make_frag, make_frags, make_rack
from tests.front.scans import sent, told
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
ONE = "1 was set apart: it comes out of water under a stop-sale."
THREE = "3 were set apart: they come out of water under a stop-sale."


@pytest.fixture
def client(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower, name="Window rack")


@pytest.fixture
def far(grower: Person, rack: Rack) -> Rack:
    """Return a rack of another trough in the same system."""
    trough = catalogue.add_trough(rack.trough.system, name="Far", by=grower)
    return catalogue.add_rack(trough, name="far rack", rows=6, columns=10, by=grower)


@pytest.fixture
def stopped(grower: Person, rack: Rack) -> list[Frag]:
    """Return three frags in holes of a rack that stands in water under a stop-sale."""
    made = make_frags(grower, 3)
    moving.fill_holes([frag.pk for frag in made], rack=rack, by=grower)
    start_stop(rack.trough, reason="flatworms", ends_when="three clean checks", by=grower)
    return made


def said(client: Client, url: str, **fields: Any) -> str:
    """Send a form that is taken, and return the words of the page that it leads to."""
    answer = client.post(url, fields | {"replay_key": str(uuid4())})
    assert answer.status_code == 303, words_on(answer)
    return words_on(client.get(answer["Location"]))


def codes(frags: list[Frag]) -> list[str]:
    return [frag.code_id for frag in frags]


@pytest.mark.parametrize("swap", [True, False], ids=["swap", "unless asked"])
def test_who_stood_in_the_hole_is_named(
    client: Client, grower: Person, rack: Rack, swap: bool
) -> None:
    there, comes, third = make_frags(grower, 3)
    for column, frag in enumerate([there, comes, third], 1):
        moving.move_frag(frag.pk, rack=rack, row=1, column=column, by=grower)
    other = {"other": "swap"} if swap else {}
    now = "they changed places" if swap else "its hole is not known now"
    page = said(
        client,
        "/stock/frags/place",
        codes=comes.code_id,
        rack=rack.pk,
        row=1,
        column=1,
        **other,
    )
    assert f"{show_code(there.code_id)} stood there: {now}." in page
    page = said(
        client,
        f"/racks/{rack.code_id}/bring",
        what=third.code_id,
        row=1,
        column=1,
        other="swap" if swap else "unknown",
    )
    assert f"{show_code(comes.code_id)} stood there: {now}." in page


def test_a_hole_that_was_free_is_no_matter(client: Client, grower: Person, rack: Rack) -> None:
    frag = make_frag(grower)
    page = said(client, "/stock/frags/place", codes=frag.code_id, rack=rack.pk, row=1, column=1)
    assert "1 frag placed in A, Window rack." in page
    assert "stood there" not in page
    assert "set apart" not in page


def test_forms_that_place_say_what_is_set_apart(
    client: Client, rack: Rack, far: Rack, stopped: list[Frag]
) -> None:
    page = said(client, "/stock/frags/place", codes=codes(stopped), rack=far.pk, holes="unknown")
    assert f"3 frags placed in Far, far rack. {THREE}" in page
    assert Frag.objects.filter(apart=True).count() == 3
    assert list(stock_differences()) == []


@pytest.mark.parametrize("holes", ["next", "unknown"])
def test_the_page_that_brings_frags_says_it(
    client: Client, far: Rack, stopped: list[Frag], holes: str
) -> None:
    what = " ".join(codes(stopped))
    assert THREE in said(client, f"/racks/{far.code_id}/bring", what=what, holes=holes)
    assert Frag.objects.filter(apart=True, rack=far).count() == 3


@pytest.mark.parametrize("what", ["move", "empty"])
def test_a_rack_that_comes_out_of_it_whole(
    client: Client, rack: Rack, far: Rack, stopped: list[Frag], what: str
) -> None:
    fields = {"trough": far.trough_id} if what == "move" else {"rack": far.pk}
    page = said(client, f"/stock/places/racks/{rack.code_id}/{what}", seq=0, **fields)
    assert THREE in page
    assert "; 3 set apart" in words_on(client.get(f"/T/{rack.code_id}"))


def test_a_count_says_it(client: Client, rack: Rack, stopped: list[Frag]) -> None:
    url = f"/racks/{rack.code_id}/count"
    client.post(url, {"what": "", "replay_key": str(uuid4())})
    page = said(client, f"{url}/settle", fate="looked", cause="unknown")
    assert f"is counted and settled: 3 still looked for. {THREE}" in page


def test_a_phone_is_told(client: Client, far: Rack, stopped: list[Frag]) -> None:
    answer = told(sent(client, "move", stopped[0].code_id, rack=far.code_id))
    assert answer["said"] == f"Stands in {far} now. {ONE}"
    again = told(sent(client, "move", stopped[0].code_id, rack=make_rack_beside(far).code_id))
    assert "set apart" not in again["said"]


def make_rack_beside(rack: Rack) -> Rack:
    """Make another rack in the trough of one."""
    by = Person.objects.get(role=Role.GROWER.value)
    return catalogue.add_rack(rack.trough, name="beside", rows=2, columns=2, by=by)


def test_a_loss_that_is_taken_back_by_phone_or_page(
    client: Client, grower: Person, rack: Rack
) -> None:
    by_phone, by_page, in_hole = make_frags(grower, 3)
    for frag in (by_phone, by_page):
        moving.move_frag(frag.pk, rack=rack, by=grower)
    other = make_rack(grower)
    moving.move_frag(in_hole.pk, rack=other, row=6, column=1, by=grower)
    gone = [
        losses.record_loss(frag.pk, pieces=1, cause="fell", by=grower).pk
        for frag in (by_phone, by_page, in_hole)
    ]
    arranging.withdraw_rack(rack.pk, by=grower)
    arranging.change_rack(other.pk, name="small", rows=2, columns=2, by=grower)
    answer = told(sent(client, "unlose", by_phone.code_id, loss=gone[0]))
    place = f"Its place is not known now: {show_code(by_phone.code_id)}."
    assert answer["said"] == f"The loss was taken back. {place}"
    page = said(client, "/stock/losses/undo", losses=gone[1:], back="/stock/losses")
    assert f"Its hole is not known now: {show_code(in_hole.code_id)}." in page
    assert f"Its place is not known now: {show_code(by_page.code_id)}." in page
    assert Frag.objects.filter(pieces=1).count() == 3
    assert list(stock_differences()) == []


def test_what_is_found_where_nobody_knows(
    client: Client, grower: Person, rack: Rack, far: Rack, stopped: list[Frag]
) -> None:
    for frag in stopped[:2]:
        losses.record_loss(frag.pk, pieces=1, cause="unknown", by=grower)
    page = said(client, f"/stock/frags/{stopped[0].code_id}/found", pieces=1)
    assert f"Its place is not known now: {show_code(stopped[0].code_id)}. {ONE}" in page
    page = said(client, f"/stock/frags/{stopped[1].code_id}/found", pieces=1, rack=rack.pk)
    assert "not known now" not in page
    assert ONE not in page


@pytest.mark.parametrize("withdrawn", [True, False])
def test_a_colony_that_comes_back(
    client: Client, grower: Person, rack: Rack, withdrawn: bool
) -> None:
    colony = make_colony(grower, rack=rack)
    record_death(colony.pk, cause="rtn", by=grower)
    if withdrawn:
        arranging.withdraw_rack(rack.pk, by=grower)
    page = said(client, f"/stock/colonies/{colony.code_id}/back", because="a slip")
    assert "The colony is here again." in page
    assert ("Its place is not known now." in page) is withdrawn


def test_a_racks_log_says_it() -> None:
    assert say_event("moved", {"apart": 2}) == "Moved to another trough; 2 set apart"
