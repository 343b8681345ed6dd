"""Counting a rack from its page."""

import re
from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import losses, moving
from fraginv.stock.models import Frag, Loss, Rack, RackCount, RackEvent
from fraginv.stock.queries.differences import stock_differences
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


def key() -> dict[str, str]:
    return {"replay_key": str(uuid4())}


@pytest.fixture
def client(client_for: ClientFor) -> Client:
    return client_for(Role.GROWER)


@pytest.fixture
def rack(grower: Person) -> Rack:
    return make_rack(grower, name="Window rack")


@pytest.fixture
def frags(grower: Person, rack: Rack) -> list[Frag]:
    """Three frags in their holes, one whose hole is not known, and a lot of ten."""
    colony = make_colony(grower)
    singles = make_frags(grower, 4, colony=colony)
    moving.fill_holes([frag.pk for frag in singles[:3]], rack=rack, by=grower)
    lot = make_lot(grower, 10, colony=colony)
    moving.place_frags([singles[3].pk, lot.pk], rack=rack, by=grower)
    return [*singles, lot]


def ticked(frags: list[Frag], *, lot: int = 10) -> dict[str, object]:
    ones: dict[str, object] = {f"one_{frag.pk}": "on" for frag in frags if not frag.is_lot}
    return ones | {f"lot_{frag.pk}": lot for frag in frags if frag.is_lot} | {"what": ""}


def test_all_there_is_counted_at_once(client: Client, rack: Rack, frags: list[Frag]) -> None:
    url = f"/racks/{rack.code_id}/count"
    page = client.get(f"{url}?mark=all").content.decode()
    assert page.count(" checked") == 4
    assert 'value="10"' in page
    answer = client.post(url, ticked(frags) | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{rack.code_id}?counted=all")
    assert RackEvent.objects.get().body["found"] == 14
    assert "all 14 are there" in words_on(client.get(f"/T/{rack.code_id}"))
    assert not RackCount.objects.exists()


def test_codes_do_instead_of_ticks(client: Client, rack: Rack, frags: list[Frag]) -> None:
    url = f"/racks/{rack.code_id}/count"
    assert " checked" not in client.get(url).content.decode()
    what = " ".join(frag.code_id[-3:].lower() for frag in frags)
    answer = client.post(url, {"what": what} | key())
    assert answer["Location"] == f"/T/{rack.code_id}?counted=all"


def test_missing_and_extra_are_settled_together(
    client: Client, grower: Person, rack: Rack, frags: list[Frag]
) -> None:
    astray, written_off = make_frags(grower, 2)
    moving.move_frag(astray.pk, rack=make_rack(grower, name="Far rack"), by=grower)
    losses.record_loss(written_off.pk, pieces=1, cause="unknown", by=grower)
    url = f"/racks/{rack.code_id}/count"
    sent = ticked(frags[1:], lot=12) | {"what": f"{astray.code_id} {written_off.code_id}"}
    answer = client.post(url, sent | key())
    assert answer["Location"] == f"{url}/settle"
    page = words_on(client.get(f"{url}/settle"))
    assert "12 found, 2 more than the lot has" in page
    assert "moves here from A, Far rack" in page
    assert "was written off, is found again" in page
    settle = {
        "fate": "lost",
        "cause": "overflow",
        f"fate_{frags[0].pk}": "",
        f"fate_{frags[4].pk}": "found",
    }
    answer = client.post(f"{url}/settle", settle | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{rack.code_id}")
    told = {"lost": 1, "found": 2, "moved here": 1, "found again": 1}
    assert RackEvent.objects.get().body == {"expected": 14, "found": 17, "settled": told}
    assert Frag.objects.get(pk=frags[0].pk).stage == "lost"
    assert list(stock_differences()) == []
    again = client.get(f"{url}/settle")
    assert (again.status_code, again["Location"]) == (302, url)


def test_nothing_is_written_off_unasked(client: Client, rack: Rack, frags: list[Frag]) -> None:
    url = f"/racks/{rack.code_id}/count"
    client.post(url, ticked(frags[2:], lot=9) | key())
    page = client.get(f"{url}/settle").content.decode()
    assert re.findall(r'value="(\w+)"[^>]* checked', page) == ["looked"]
    lot = {"fate": "looked", "cause": "unknown", f"fate_{frags[4].pk}": ""}
    answer = client.post(f"{url}/settle", lot | key())
    assert answer.status_code == 400
    assert not Loss.objects.exists()
    said = lot | {f"fate_{frags[0].pk}": "lost", f"fate_{frags[4].pk}": "lost"}
    answer = client.post(f"{url}/settle", said | key())
    assert answer.status_code == 303
    told = "counted and settled: 2 lost (unknown), 1 still looked for."
    assert told in words_on(client.get(answer["Location"]))


def test_a_count_that_waits_is_there_again(client: Client, rack: Rack, frags: list[Frag]) -> None:
    url = f"/racks/{rack.code_id}/count"
    sent = {f"one_{frags[0].pk}": "on", f"lot_{frags[4].pk}": 9, "what": "", "then": "later"}
    assert client.post(url, sent | key())["Location"] == f"/T/{rack.code_id}"
    page = client.get(url).content.decode()
    assert page.count(" checked") == 1
    assert 'value="9"' in page
    assert "What you ticked before is still here" in page
    assert client.post(f"{url}/drop", key()).status_code == 303
    assert " checked" not in client.get(url).content.decode()


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_what_cannot_be_settled_keeps_the_count(client: Client, people: People) -> None:
    grower = people[Role.GROWER]
    rack = make_rack(grower)
    frags = make_frags(grower, 2)
    moving.fill_holes([frag.pk for frag in frags], rack=rack, by=grower)
    url = f"/racks/{rack.code_id}/count"
    client.post(url, {"what": frags[0].code_id} | key())
    answer = client.post(f"{url}/settle", {"fate": "elsewhere", "cause": "unknown"} | key())
    assert answer.status_code == 400
    assert "Choose the rack in which it stands" in words_on(answer)
    assert RackCount.objects.count() == 1
    wrong = client.post(url, {"what": "ZZZ"} | key())
    assert wrong.status_code == 400
    assert "Nothing that lives here ends in ZZZ" in words_on(wrong)


def test_an_empty_rack_has_nothing_to_count(client: Client, rack: Rack) -> None:
    assert "Nothing should stand here" in words_on(client.get(f"/racks/{rack.code_id}/count"))


def test_the_same_statements_for_two_frags_and_for_twenty(
    client: Client,
    grower: Person,
    rack: Rack,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    url = f"/racks/{rack.code_id}/count"
    colony = make_colony(grower)
    for count in (2, 18):
        frags = make_frags(grower, count, colony=colony)
        moving.place_frags([frag.pk for frag in frags], rack=rack, by=grower)
        client.post(url, {"what": frags[0].code_id} | key())
        for page in (url, f"{url}/settle"):
            with django_assert_max_num_queries(9):
                assert client.get(page).status_code == 200


@pytest.mark.parametrize("role", [Role.SELLER, Role.READER])
def test_who_records_no_losses_counts_nothing(
    client_for: ClientFor, grower: Person, rack: Rack, role: Role
) -> None:
    make_frag(grower)
    for page in ("count", "count/settle"):
        assert client_for(role).get(f"/racks/{rack.code_id}/{page}").status_code == 403
    assert client_for(role).post(f"/racks/{rack.code_id}/count/drop").status_code == 403
    assert client_for(Role.GROWER).get("/racks/7K3Q9FN/count").status_code == 404
