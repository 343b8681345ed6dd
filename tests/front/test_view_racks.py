"""Racks as they are drawn, what is done from there, and rounds."""

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.front.rules.drawn import say_event
from fraginv.growth.models import Photo
from fraginv.stock.actions import aside, looks, moving, racks
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.models import Frag, FragEvent, Rack, RackEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.holds import ClaimKind
from tests.base.test_pictures import make_picture
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


def stand(frag: Frag, rack: Rack, row: int, column: int, by: Person) -> Frag:
    moving.move_frag(frag.pk, rack=rack, row=row, column=column, by=by)
    return frag


def drawn(client: Client, rack: Rack) -> str:
    answer = client.get(f"/T/{rack.code_id}")
    assert answer.status_code == 200
    return answer.content.decode()


def test_each_hole_says_what_stands_in_it(client: Client, grower: Person, rack: Rack) -> None:
    colony = make_colony(grower)
    healing, held, apart, wrong = make_frags(grower, 4, colony=colony)
    aside.set_apart([apart.pk], by=grower)
    looks.mark_wrong([wrong.pk], wrong="rtn", by=grower)
    ready = make_frag(grower, ready=True, colony=colony)
    hold_frag(ready.pk, pieces=1, kind=ClaimKind.NAMED, by=grower, for_name="Ines Varga")
    for column, frag in enumerate([healing, ready, apart, wrong], 1):
        stand(frag, rack, 2, column, grower)
    moving.move_frag(held.pk, rack=rack, by=grower)
    page = drawn(client, rack)
    name = healing.variety.name
    for column, frag, told in [
        (1, healing, "healing"),
        (2, ready, "ready, held"),
        (3, apart, "healing, set apart"),
        (4, wrong, "healing, not well"),
    ]:
        code = show_code(frag.code_id)
        label = f"{frag.code_id[-3:]}, row 2, hole {column}, {name}, {code}, {told}"
        assert f'aria-label="{label}"' in page
    assert 'aria-label="row 1, hole 1, empty"' in page
    assert "Hole not known: 1" in page
    assert page.count('href="#form-healing"') == 4


def test_what_is_late_is_said(client_for: ClientFor, grower: Person, rack: Rack) -> None:
    client = client_for(Role.GROWER)
    frag = stand(make_frag(grower), rack, 1, 1, grower)
    assert "overdue" not in drawn(client, rack).partition("<table")[2].partition("</table>")[0]
    with clock.at(clock.now() + timedelta(days=14)):
        client = client_for(Role.GROWER)
        page = drawn(client, rack).partition("<table")[2].partition("</table>")[0]
        sheet = words_on(client.get(f"/racks/{rack.code_id}/frags/{frag.code_id}"))
    assert "healing, overdue" in page
    assert "Heals longer than usual" in sheet
    assert "seen 14 days ago" in sheet


def test_a_turned_rack_is_drawn_turned_round(client: Client, grower: Person, rack: Rack) -> None:
    frag = stand(make_frag(grower), rack, 1, 1, grower)
    before = drawn(client, rack)
    assert before.index("row 1, hole 1") < before.index("row 6, hole 10")
    racks.turn_rack(rack.pk, by=grower)
    after = drawn(client, rack)
    assert after.index("row 6, hole 10") < after.index("row 1, hole 1")
    assert f"row 1, hole 1, {frag.variety.name}" in after
    assert "Turned round" in after


def test_the_same_statements_for_one_frag_and_for_twenty(
    client: Client,
    grower: Person,
    rack: Rack,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    """The session, the person and the organisation are 3 of them; rack, frags, colonies, log 4."""
    pages = [
        f"/T/{rack.code_id}",
        f"/T/{rack.code_id}?show=list",
        "/rounds",
        f"/troughs/{rack.trough_id}",
        f"/systems/{rack.trough.system_id}",
    ]
    colony = make_colony(grower)
    for count in (1, 19):
        frags = make_frags(grower, count, colony=colony)
        moving.fill_holes([frag.pk for frag in frags], rack=rack, by=grower)
        for page in pages:
            with django_assert_max_num_queries(9):
                assert client.get(page).status_code == 200


def test_something_wrong_is_one_tap(client: Client, grower: Person, rack: Rack) -> None:
    frag = stand(make_frag(grower), rack, 1, 1, grower)
    url = f"/racks/{rack.code_id}/frags/{frag.code_id}"
    assert b"Brown jelly" in client.get(url).content
    answer = client.post(f"{url}/wrong", {"wrong": "rtn"} | key())
    assert (answer.status_code, answer["Location"]) == (303, f"/T/{rack.code_id}")
    assert Frag.objects.get(pk=frag.pk).wrong == "rtn"
    answer = client.post(f"{url}/fine", key())
    assert answer.status_code == 303
    assert Frag.objects.get(pk=frag.pk).wrong == ""


def test_a_picture_and_what_becomes_of_it_in_the_same_step(
    client: Client, grower: Person, rack: Rack
) -> None:
    lot = make_lot(grower, 10)
    moving.move_frag(lot.pk, rack=rack, by=grower)
    url = f"/racks/{rack.code_id}/frags/{lot.code_id}/wrong"
    picture = SimpleUploadedFile("a.jpg", make_picture(), content_type="image/jpeg")
    sent = {"wrong": "algae", "then": "lost", "pieces": 3, "picture": picture, "note": "left end"}
    assert client.post(url, sent | key()).status_code == 303
    now = Frag.objects.get(pk=lot.pk)
    assert (now.pieces, now.wrong) == (7, "algae")
    assert FragEvent.objects.get(frag=lot, kind="lost").body["cause"] == "overgrown"
    assert Photo.objects.filter(frag=lot).count() == 1
    assert client.post(url, {"wrong": "pest", "then": "apart"} | key()).status_code == 303
    assert Frag.objects.get(pk=lot.pk).apart is True
    assert list(stock_differences()) == []


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_trouble_that_cannot_be_leaves_nothing(client: Client, people: People) -> None:
    grower = people[Role.GROWER]
    rack = make_rack(grower)
    lot = make_lot(grower, 10)
    moving.move_frag(lot.pk, rack=rack, by=grower)
    url = f"/racks/{rack.code_id}/frags/{lot.code_id}/wrong"
    answer = client.post(url, {"wrong": "rtn", "then": "lost", "pieces": 11} | key())
    assert answer.status_code == 400
    assert "has 10 living; 11 cannot be lost" in words_on(answer)
    assert client.post(url, {"wrong": "boredom"} | key()).status_code == 400
    now = Frag.objects.get(pk=lot.pk)
    assert (now.pieces, now.wrong) == (10, "")


def test_a_round_is_one_row_and_a_tap(client_for: ClientFor, grower: Person, rack: Rack) -> None:
    client = client_for(Role.GROWER)
    frag = stand(make_frag(grower), rack, 1, 1, grower)
    events = FragEvent.objects.count()
    with clock.at(clock.now() + timedelta(days=14)):
        client = client_for(Role.GROWER)
        page = words_on(client.get("/rounds"))
        assert "1 of 1 racks on this page wait for a look today" in page
        assert "1 heals longer than usual" in page
        assert "1 not seen for too long" in page
        sent = {"back": "/rounds#rack-1"} | key()
        answer = client.post(f"/racks/{rack.code_id}/seen", sent)
        assert (answer.status_code, answer["Location"]) == (303, "/rounds#rack-1")
        page = words_on(client.get("/rounds"))
        assert "seen today by Test grower" in page
        assert "not seen for too long" not in page
        assert client.post(f"/racks/{rack.code_id}/seen", sent).status_code == 303
    assert RackEvent.objects.count() == 1
    assert FragEvent.objects.count() == events
    assert Frag.objects.get(pk=frag.pk).seen_on != Rack.objects.get(pk=rack.pk).seen_on
    assert list(stock_differences()) == []


def test_in_quarantine_a_look_is_a_clean_check_of_each_once_a_day(
    client_for: ClientFor, grower: Person
) -> None:
    client = client_for(Role.GROWER)
    rack = make_rack(grower, quarantine=True)
    one, two, sick = make_frags(grower, 3)
    aside.quarantine_frags([one.pk, two.pk, sick.pk], rack=rack, by=grower)
    looks.mark_wrong([sick.pk], wrong="pest", by=grower)
    for _ in range(2):
        client.post(f"/racks/{rack.code_id}/seen", key())
    checks = dict(Frag.objects.values_list("pk", "clean_checks"))
    assert checks == {one.pk: 1, two.pk: 1, sick.pk: 0}
    with clock.at(clock.now() + timedelta(days=7)):
        client = client_for(Role.GROWER)
        assert "3 quarantine checks due" in words_on(client.get("/rounds"))
        client.post(f"/racks/{rack.code_id}/seen", key())
        assert "quarantine checks due" not in words_on(client.get("/rounds"))
    assert Frag.objects.get(pk=one.pk).clean_checks == 2
    assert list(stock_differences()) == []


def test_what_stands_in_no_rack_is_listed(client: Client, grower: Person, rack: Rack) -> None:
    stood, astray = make_frags(grower, 2)
    moving.move_frag(stood.pk, rack=rack, by=grower)
    page = words_on(client.get("/rounds"))
    assert "In no rack: not placed yet, or still looked for" in page
    assert show_code(astray.code_id) in page
    assert show_code(stood.code_id) not in page


def test_a_troughs_page_of_the_day(client_for: ClientFor, grower: Person, rack: Rack) -> None:
    client = client_for(Role.GROWER)
    frags = make_frags(grower, 3)
    moving.fill_holes([frag.pk for frag in frags], rack=rack, by=grower)
    looks.mark_wrong([frags[0].pk], wrong="algae", by=grower)
    page = words_on(client.get(f"/troughs/{rack.trough_id}"))
    assert "3 frags, 3 pieces: 3 healing, 0 growing, 0 ready" in page
    assert "1 not well" in page
    with clock.at(clock.now() + timedelta(days=14)):
        client = client_for(Role.GROWER)
        page = words_on(client.get(f"/troughs/{rack.trough_id}"))
        assert "3 heal longer than usual" in page
        only = client.get(f"/troughs/{rack.trough_id}?due=healing")
        assert only.content.decode().count('name="codes"') == 3
        none = client.get(f"/troughs/{rack.trough_id}?due=dip")
        assert "Nothing is due" in words_on(none)


def test_frags_are_brought_one_after_another(client: Client, grower: Person, rack: Rack) -> None:
    frags = make_frags(grower, 4)
    url = f"/racks/{rack.code_id}/bring"
    what = f"{frags[2].code_id[-3:].lower()} {show_code(frags[0].code_id)}"
    answer = client.post(url, {"what": what, "holes": "next"} | key())
    assert (answer.status_code, answer["Location"]) == (303, f"{url}?holes=next")
    assert "2 frags moved to A, Window rack" in words_on(client.get(url))
    holes = [Frag.objects.get(pk=frag.pk).hole_column for frag in frags]
    assert holes == [2, None, 1, None]
    answer = client.post(url, {"what": frags[1].code_id, "holes": "unknown"} | key())
    assert answer["Location"] == f"{url}?holes=unknown"
    assert Frag.objects.get(pk=frags[1].pk).rack == rack


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
def test_who_stands_in_the_hole_is_asked_about(client: Client, people: People) -> None:
    grower = people[Role.GROWER]
    rack = make_rack(grower)
    there, comes = make_frags(grower, 2)
    stand(there, rack, 1, 1, grower)
    stand(comes, rack, 2, 2, grower)
    url = f"/racks/{rack.code_id}/bring"
    sent = {"what": comes.code_id, "row": 1, "column": 1}
    asked = client.post(url, sent | key())
    assert asked.status_code == 400
    assert f"{show_code(there.code_id)} stands in row 1, hole 1 already" in words_on(asked)
    assert "They change places" in words_on(asked)
    answer = client.post(url, sent | {"other": "swap"} | key())
    assert answer["Location"] == f"/T/{rack.code_id}"
    assert Frag.objects.get(pk=there.pk).hole_row == 2
    outside = client.post(url, sent | {"row": 7} | key())
    assert "has 6 rows and 10 columns" in words_on(outside)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("", "Scan or type the code of a frag first"),
        ("7K3-Q9F-X", "A character in 7K3-Q9F-X is wrong"),
        ("ZZZ", "Nothing that lives here ends in ZZZ"),
    ],
)
def test_what_cannot_be_brought(client: Client, rack: Rack, what: str, said: str) -> None:
    answer = client.post(f"/racks/{rack.code_id}/bring", {"what": what} | key())
    assert answer.status_code == 400
    assert said in words_on(answer)


def test_pages_of_racks_that_are_none(client: Client, grower: Person, rack: Rack) -> None:
    frag = make_frag(grower)
    for page in (
        f"/racks/7K3Q9FN/frags/{frag.code_id}",
        f"/racks/{rack.code_id}/frags/7K3Q9FN",
        f"/racks/{frag.code_id}/bring",
        "/troughs/999",
        "/systems/999",
    ):
        assert client.get(page).status_code == 404, page
    assert client.get("/rounds?after=no").status_code == 400
    assert client.get(f"/racks/{rack.code_id}/holes/1/1").status_code == 200
    for hole in ("7/1", "1/11", "0/1"):
        assert client.get(f"/racks/{rack.code_id}/holes/{hole}").status_code == 400
    stand(frag, rack, 1, 1, grower)
    there = client.get(f"/racks/{rack.code_id}/holes/1/1")
    assert show_code(frag.code_id) in words_on(there)


@pytest.mark.parametrize("role", [Role.SELLER, Role.READER])
def test_who_only_looks_gets_no_buttons(
    client_for: ClientFor, grower: Person, rack: Rack, role: Role
) -> None:
    frag = stand(make_frag(grower), rack, 1, 1, grower)
    client = client_for(role)
    for page in (f"/T/{rack.code_id}", "/rounds", f"/racks/{rack.code_id}/frags/{frag.code_id}"):
        answer = client.get(page)
        assert answer.status_code == 200
        assert b"Seen, " not in answer.content
    assert client.post(f"/racks/{rack.code_id}/seen", key()).status_code == 403
    assert client_for(None).get("/rounds").status_code == 302


@pytest.mark.parametrize(
    ("kind", "body", "said"),
    [
        ("seen", {"checked": 0}, "Seen, fine"),
        ("seen", {"checked": 1}, "Seen, fine: 1 frag clean in quarantine"),
        ("turned", {"turned": True}, "Turned round"),
        ("moved", {"from": 1, "to": 2}, "Moved to another trough"),
        ("emptied", {"into": 2, "frags": 4}, "Emptied: 4 frags to another rack"),
        (
            "counted",
            {"expected": 40, "found": 38, "settled": {"lost": 2, "found again": 0}},
            "Counted: 38 found of 40 (2 lost)",
        ),
    ],
)
def test_a_racks_log_in_words(kind: str, body: dict[str, object], said: str) -> None:
    assert say_event(kind, body) == said
