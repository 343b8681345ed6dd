"""What is likely ready, graded by taps; the page of a variety and its forms."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import aside, grading, moving
from fraginv.stock.actions.looks import mark_wrong
from fraginv.stock.actions.varieties import set_pace
from fraginv.stock.models import Frag, Variety
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_frags, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def grown(people: People) -> list[Frag]:
    """Five that were cut 70 days ago and grow, of which SPS are likely ready after 60."""
    grower = people[Role.GROWER]
    variety = make_variety(grower, name="Pier Moss")
    day = today() - timedelta(days=70)
    frags = make_frags(grower, 5, colony=make_colony(grower, variety=variety), day=day)
    grading.mark_healed([frag.pk for frag in frags], by=grower)
    return frags


def send(client: Client, path: str = "/ready", **fields: Any) -> Any:
    return client.post(path, {"replay_key": str(uuid4())} | fields)


def test_what_is_not_well_is_graded_with_a_word(
    client_for: ClientFor, grower: Person, grown: list[Frag]
) -> None:
    client = client_for(Role.GROWER)
    mark_wrong([grown[0].pk], wrong="rtn", by=grower)
    assert words_on(client.get("/ready")).count("not well") == 1
    assert "not well" in words_on(client.get(f"/stock/frags/grade?codes={grown[0].code_id}"))
    done = send(client, one=f"{grown[0].code_id}:M")
    said = "Look again before it is sold: Pier Moss"
    assert said in words_on(client.get(done["Location"]))


@pytest.mark.parametrize("path", ["/ready", "/varieties/{}"])
@pytest.mark.parametrize(
    ("role", "status"),
    [(Role.GROWER, 200), (Role.SELLER, 200), (Role.READER, 200), (None, 302)],
)
def test_who_reads(
    client_for: ClientFor, grown: list[Frag], path: str, role: Role | None, status: int
) -> None:
    address = path.format(grown[0].variety_id)
    assert client_for(role).get(address).status_code == status


def test_only_who_grades_finds_buttons(client_for: ClientFor, grown: list[Frag]) -> None:
    assert 'name="one"' not in client_for(Role.SELLER).get("/ready").content.decode()
    sent = {"one": f"{grown[0].code_id}:M"}
    for role in (Role.SELLER, Role.READER):
        assert send(client_for(role), **sent).status_code == 403
    assert Frag.objects.filter(stage="ready").count() == 0


def test_what_is_likely_ready_and_what_is_not(
    client_for: ClientFor, grower: Person, grown: list[Frag]
) -> None:
    aside.set_apart([grown[0].pk], by=grower)
    grading.grade_frags([grown[1].pk], size="S", by=grower)
    young = make_frag(grower)
    grading.mark_healed([young.pk], by=grower)
    text = client_for(Role.GROWER).get("/ready").content.decode()
    shown = {frag.code_id: f"/T/{frag.code_id}" in text for frag in [*grown, young]}
    assert list(shown.values()) == [False, False, True, True, True, False]


def test_one_tap_grades_one(client_for: ClientFor, grown: list[Frag]) -> None:
    client = client_for(Role.GROWER)
    answer = send(client, one=f"{grown[0].code_id}:M")
    assert (answer.status_code, answer["Location"]) == (303, "/ready")
    page = client.get("/ready")
    assert f"{show_code(grown[0].code_id)} graded ready, size M." in words_on(page)
    assert f"/T/{grown[0].code_id}" not in page.content.decode()
    assert list(Frag.objects.filter(stage="ready").values_list("pk", "size")) == [
        (grown[0].pk, "M")
    ]


def test_what_is_not_ready_yet_is_asked_again_later(
    client_for: ClientFor, grown: list[Frag]
) -> None:
    client = client_for(Role.GROWER)
    done = send(client, later=grown[0].code_id)
    assert done["Location"] == "/ready"
    page = words_on(client.get("/ready"))
    assert f"{show_code(grown[0].code_id)}: not ready yet, asked again in 14 days." in page
    assert client.get("/ready").content.decode().count('name="codes"') == 4
    send(client, later="ticked", codes=[frag.code_id for frag in grown[1:3]])
    frags = Frag.objects.order_by("pk")
    assert [frag.likely_on == today() + timedelta(days=14) for frag in frags] == [1, 1, 1, 0, 0]
    assert {frag.stage for frag in frags} == {"growing"}
    none = send(client, later="ticked")
    assert "Tick the frags that are not ready yet." in words_on(none)
    for wrong in ("7K3Q9FX", "x" * 41):
        assert send(client, later=wrong).status_code == 400
    assert send(client_for(Role.SELLER), later=grown[3].code_id).status_code == 403


def test_a_whole_rack_is_two_taps(client_for: ClientFor, grower: Person, grown: list[Frag]) -> None:
    rack = make_rack(grower)
    moving.place_frags([frag.pk for frag in grown[:3]], rack=rack, by=grower)
    client = client_for(Role.GROWER)
    path = f"/ready?rack={rack.pk}"
    page = client.get(path)
    assert str(rack) in words_on(page)
    assert page.content.decode().count('name="codes"') == 3
    trough = client.get(f"/ready?trough={rack.trough_id}").content.decode()
    assert trough.count('name="codes"') == 3
    codes = [frag.code_id for frag in grown[:3]]
    answer = send(client, path, codes=codes, size="L")
    assert answer["Location"] == path
    assert "3 frags graded ready, size Large" not in words_on(client.get(path))
    assert Frag.objects.filter(stage="ready", size="L").count() == 3
    assert "Nothing is likely ready" in words_on(client.get(path))


def test_heads_and_what_is_smaller_than_usual(
    client_for: ClientFor, grower: Person, grown: list[Frag]
) -> None:
    set_pace(grown[0].variety_id, ready_days=60, ready_heads=3, by=grower)
    client, code = client_for(Role.GROWER), grown[0].code_id
    assert f'name="heads-{code}"' in client.get("/ready").content.decode()
    send(client, **{"one": f"{code}:S", f"heads-{code}": "2"})
    page = words_on(client.get("/ready"))
    assert "Smaller than it is usually sold: Pier Moss from 3 heads" in page
    assert Frag.objects.get(code=code).heads == 2
    other = grown[1].code_id
    answer = send(client, **{"one": f"{other}:S", f"heads-{other}": "two"})
    assert answer.status_code == 400
    assert "two heads: write a number" in words_on(answer)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({}, "Tick the frags that are ready"),
        ({"size": "M"}, "Tick the frags that are ready"),
        ({"one": "7K3Q9FX:M"}, "is wrong"),
        ({"one": "CODE:XL"}, "Choose one of the sizes"),
        ({"size": "XL", "codes": "CODE"}, "Select a valid choice"),
        ({"one": "7K3Q9FN:M"}, "Not frags: 7K3-Q9F-N"),
    ],
    ids=str,
)
def test_bad_input(
    client_for: ClientFor, grown: list[Frag], sent: dict[str, str], said: str
) -> None:
    fields = {name: text.replace("CODE", grown[0].code_id) for name, text in sent.items()}
    answer = send(client_for(Role.GROWER), **fields)
    assert answer.status_code in {400, 404}
    assert said in words_on(answer)
    assert not Frag.objects.filter(stage="ready").exists()


@pytest.mark.parametrize(
    "asked", ["rack=x", "rack=999", "trough=-1", "after=x", "after=2026-01-01"]
)
def test_addresses_that_nobody_was_given(
    client_for: ClientFor, grown: list[Frag], asked: str
) -> None:
    answer = client_for(Role.GROWER).get(f"/ready?{asked}")
    assert answer.status_code == 400
    assert client_for(Role.GROWER).get("/ready?trough=999").status_code == 404


def test_pages_follow_each_other_without_gaps(client_for: ClientFor, grower: Person) -> None:
    colony = make_colony(grower)
    for age in (70, 80):
        frags = make_frags(grower, 30, colony=colony, day=today() - timedelta(days=age))
        grading.mark_healed([frag.pk for frag in frags], by=grower)
    client, seen, path = client_for(Role.GROWER), [], "/ready"
    while path:
        page = client.get(path)
        seen += [row.frag.pk for row in page.context["list"].rows]
        after = page.context["list"].after
        path = f"/ready?after={after}" if after else ""
    expected = Frag.objects.order_by("likely_on", "pk").values_list("pk", flat=True)
    assert seen == list(expected)
    assert len(seen) == 60


@pytest.mark.parametrize("many", [1, 12])
def test_pages_ask_few_questions(
    client_for: ClientFor,
    grower: Person,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    many: int,
) -> None:
    variety, rack = make_variety(grower), make_rack(grower)
    for _ in range(many):
        colony = make_colony(grower, variety=variety)
        (frag,) = make_frags(grower, 1, colony=colony, day=today() - timedelta(days=70))
        grading.mark_healed([frag.pk], by=grower)
        moving.place_frags([frag.pk], rack=rack, by=grower)
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(5):
        client.get(f"/ready?rack={rack.pk}")
    # Three for how many will be ready by when.
    with django_assert_max_num_queries(11):
        client.get(f"/varieties/{variety.pk}")


def test_a_variety_shows_its_rule_and_what_lives(
    client_for: ClientFor, grower: Person, grown: list[Frag]
) -> None:
    variety = grown[0].variety_id
    client = client_for(Role.GROWER)
    page = client.get(f"/varieties/{variety}")
    said = words_on(page)
    assert "after 60 days from cutting, as usual for its group" in said
    assert "5 labels" not in said or "growing" in said
    assert f"/T/{grown[0].colony.code_id}" in page.content.decode()  # type: ignore[union-attr]
    back = f"/varieties/{variety}"
    sent = {"heal_days": 7, "ready_days": 30, "ready_size": "M", "ready_mm": "25"}
    answer = send(client, f"/stock/varieties/{variety}/ready?back={back}", **sent)
    assert answer["Location"] == back
    said = words_on(client.get(back))
    assert "after 7 days" in said
    assert "after 30 days from cutting" in said
    assert "size M or 25 mm across" in said
    assert 'value="25"' in client.get(f"/stock/varieties/{variety}/ready").content.decode()
    assert client.get("/varieties/999").status_code == 404
    assert client.get(f"/T/{grown[0].code_id}").content.decode().count(back) == 1


def test_a_variety_is_changed_after_the_law_was_read(client_for: ClientFor, grower: Person) -> None:
    variety, client = make_variety(grower, name="Pier Moss"), client_for(Role.GROWER)
    path = f"/stock/varieties/{variety.pk}/edit?back=/varieties/{variety.pk}"
    text = client.get(path).content.decode()
    assert 'value="Pier Moss"' in text
    assert 'value="Acropora"' in text
    sent = {"name": "Quay Fern", "genus": "Acropora", "species": "", "group": "", "care": "Light"}
    assert send(client, path, **sent).status_code == 200
    assert Variety.objects.get().name == "Pier Moss"
    answer = send(client, path, **sent, seen=["cites", "protected"])
    assert answer["Location"] == f"/varieties/{variety.pk}"
    assert Variety.objects.get().name == "Quay Fern"
    for role in (Role.SELLER, Role.READER):
        assert client_for(role).get(path).status_code == 403
        assert client_for(role).get(f"/stock/varieties/{variety.pk}/ready").status_code == 403


def test_a_fresh_cut_says_so_on_its_page_and_at_the_hold(
    client_for: ClientFor, people: People
) -> None:
    frag = make_frag(people[Role.GROWER])
    client = client_for(Role.GROWER)
    assert 'name="fresh" value="yes"' in client.get(f"/T/{frag.code_id}").content.decode()
    sent = {"codes": frag.code_id, "size": "S", "fresh": "yes"}
    assert send(client, "/stock/frags/grade", **sent).status_code == 303
    page = words_on(client.get(f"/T/{frag.code_id}"))
    assert "1 frag graded as a fresh cut, size S." in page
    assert "To be sold as a fresh cut, size S" in page
    hold = client_for(Role.SELLER).get(f"/trade/frags/{frag.code_id}/hold")
    assert hold.status_code in {200, 404}
    if hold.status_code == 200:
        assert "fresh cut" in words_on(hold)
    with clock.at(clock.now() + timedelta(days=1)):
        assert Frag.objects.get().fresh
