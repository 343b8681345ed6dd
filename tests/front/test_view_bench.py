"""The page of the cutting bench: which colony next, what was cut so far."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Code
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.models import Colony
from fraginv.stock.queries.bench import longest_rested
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def colony(people: People) -> Colony:
    grower = people[Role.GROWER]
    return make_colony(grower, variety=make_variety(grower, name="Pier Moss"), rest_days=30)


def url_of(colony: Colony) -> str:
    return f"/stock/colonies/{colony.code_id}/cut"


@pytest.mark.parametrize(
    ("role", "status"),
    [(Role.GROWER, 200), (Role.MANAGER, 200), (Role.SELLER, 403), (Role.READER, 403), (None, 302)],
)
def test_who_may_stand_at_the_bench(client_for: ClientFor, role: Role | None, status: int) -> None:
    assert client_for(role).get("/bench").status_code == status


def test_an_empty_house_says_what_to_do(client_for: ClientFor) -> None:
    assert "No colony may be cut" in words_on(client_for(Role.GROWER).get("/bench"))


def test_colonies_that_may_be_cut_are_one_tap_away(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    grower = people[Role.GROWER]
    barred, resting = make_colony(grower), make_colony(grower, rest_days=90)
    bar_colony(barred, because="on loan", by=people[Role.OWNER])
    cut_colony(resting.pk, pieces=1, by=grower, day=today() - timedelta(days=10))
    text = client_for(Role.GROWER).get("/bench").content.decode()
    assert url_of(colony) in text
    assert "never cut" in text
    assert url_of(barred) not in text
    assert text.count(url_of(resting)) == 1
    assert "rests until" in text


def test_the_sitting_is_summed_with_its_labels(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    grower, other = people[Role.GROWER], make_colony(people[Role.GROWER])
    one = cut_colony(colony.pk, pieces=12, lost=1, by=grower)
    two = cut_colony(other.pk, pieces=30, lot=True, by=grower)
    cut_colony(other.pk, pieces=9, by=people[Role.MANAGER])
    cut_colony(other.pk, pieces=8, by=grower, day=today() - timedelta(days=1), despite_rest="x")
    Code.objects.filter(frag__cutting=one, frag=one.frags.order_by("pk")[0]).update(
        printed_at=clock.now()
    )
    answer = client_for(Role.GROWER).get("/bench")
    assert "Today: 42 pieces of 2 cuttings, 1 lost at the bench" in words_on(answer)
    assert "Labels for all (12)" in words_on(answer)
    text = answer.content.decode()
    for frag in [*one.frags.order_by("pk")[1:], *two.frags.all()]:
        assert f"codes={frag.code_id}" in text
    assert f"codes={one.frags.order_by('pk')[0].code_id}" not in text
    assert f"/cuttings/{one.pk}" in text
    assert "one lot" in text


def test_a_scanned_colony_goes_straight_to_its_cutting(
    client_for: ClientFor, colony: Colony
) -> None:
    client, (label,) = client_for(Role.GROWER), issue_blank_run(1)
    for typed in (
        colony.code_id,
        show_code(colony.code_id).lower(),
        f"HTTPS://REEF.TEST/T/{colony.code_id}",
        colony.code_id[-3:],
        "Pier M",
    ):
        answer = client.get("/bench", {"q": typed, "first": show_code(label.code)})
        way_on = f"{url_of(colony)}?first={label.code}"
        assert (answer.status_code, answer["Location"]) == (302, way_on)
    assert client.get("/bench", {"first": "7K3-Q9F-X"}).status_code == 200


def test_a_blank_label_waits_for_its_colony(client_for: ClientFor, colony: Colony) -> None:
    (label,) = issue_blank_run(1)
    client = client_for(Role.GROWER)
    answer = client.get("/bench", {"q": label.code}, follow=True)
    assert answer.redirect_chain == [(f"/bench?first={label.code}", 302)]
    assert f"The label {show_code(label.code)} is the first of the cutting" in words_on(answer)
    assert f"{url_of(colony)}?first={label.code}" in answer.content.decode()


def test_what_is_no_colony_says_so(client_for: ClientFor, people: People, colony: Colony) -> None:
    grower, client = people[Role.GROWER], client_for(Role.GROWER)
    frag = make_frag(grower, colony=colony)
    answer = client.get("/bench", {"q": frag.code_id})
    assert "is a frag of this colony" in words_on(answer)
    assert url_of(colony) in answer.content.decode()
    bought = receive_frag(colony.variety, pieces=1, by=grower)
    answer = client.get("/bench", {"q": bought.code_id})
    assert answer.status_code == 409
    assert "is a frag of no colony here" in words_on(answer)
    answer = client.get("/bench", {"q": make_rack(grower).code_id})
    assert answer.status_code == 404
    assert "is not a colony. Scan the colony's label" in words_on(answer)
    answer = client.get("/bench", {"q": "7K3-Q9F-X"})
    assert answer.status_code == 400
    assert "A character in 7K3-Q9F-X is wrong" in words_on(answer)
    answer = client.get("/bench", {"q": "nothing like it"})
    assert "No colony here" in words_on(answer)


def test_two_with_one_name_are_both_offered(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    other = make_colony(people[Role.GROWER], variety=colony.variety)
    text = client_for(Role.GROWER).get("/bench", {"q": "Pier"}).content.decode()
    assert url_of(colony) in text
    assert url_of(other) in text


@pytest.mark.parametrize("many", [1, 12])
def test_it_asks_few_questions(
    client_for: ClientFor,
    people: People,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    many: int,
) -> None:
    grower = people[Role.GROWER]
    for _ in range(many):
        cut_colony(make_colony(grower).pk, pieces=2, by=grower)
        make_colony(grower)
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(7):
        assert client.get("/bench").status_code == 200


def test_a_cutting_leads_back_to_the_bench(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    cutting = cut_colony(colony.pk, pieces=2, tool="saw", dip="iodine", by=people[Role.GROWER])
    answer = client_for(Role.GROWER).get(f"/cuttings/{cutting.pk}")
    assert "Next colony" in words_on(answer)
    assert "Tool: saw; dip: iodine." in words_on(answer)
    assert "Next colony" not in words_on(client_for(Role.MANAGER).get(f"/cuttings/{cutting.pk}"))


def test_who_has_rested_longest_is_chosen_before_anything_is_joined() -> None:
    chosen = str(longest_rested(60).query).partition(" IN (SELECT ")[2]
    assert "LIMIT 60" in chosen
    assert "JOIN" not in chosen
