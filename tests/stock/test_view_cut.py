"""The page at the bench, over HTTP."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.bars import bar_colony
from fraginv.stock.actions.cuttings import cut_colony
from fraginv.stock.models import Colony, Cutting, Frag
from tests.conftest import People
from tests.factories import make_colony, make_rack, make_variety
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def colony(people: People) -> Colony:
    return make_colony(people[Role.GROWER], rest_days=30)


def form(**fields: Any) -> dict[str, Any]:
    """Return what the page sends for five pieces on plugs today."""
    usual = {
        "pieces": 5,
        "lost": 0,
        "medium": "plug",
        "lot": "no",
        "day": today().isoformat(),
        "replay_key": str(uuid4()),
    }
    return usual | fields


def url_of(colony: Colony) -> str:
    return f"/stock/colonies/{colony.code_id}/cut"


def test_cutting_goes_on_to_what_was_cut(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    answer = client.post(url_of(colony), form(pieces=12, lost=1))
    cutting = Cutting.objects.get()
    assert answer.status_code == 303
    assert answer["Location"] == f"/T/{colony.code_id}?cutting={cutting.pk}"
    page = client.get(answer["Location"], follow=True)
    assert page.redirect_chain == [(f"/cuttings/{cutting.pk}", 302)]
    text = page.content.decode()
    assert "12 frags cut, 1 lost at the bench." in text
    assert text.count("tag--healing") == 12


def test_same_form_twice_cuts_once(client_for: ClientFor, colony: Colony) -> None:
    client, sent = client_for(Role.GROWER), form()
    first, again = client.post(url_of(colony), sent), client.post(url_of(colony), sent)
    assert first["Location"] == again["Location"]
    assert Frag.objects.count() == 5
    other = client.post(url_of(colony), sent | {"pieces": 6})
    assert other.status_code == 409
    assert b"was sent before with other content" in other.content
    assert Frag.objects.count() == 5


@pytest.mark.django_db(transaction=True)  # so that the refused write can roll back
@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"pieces": 0}, "0 living pieces"),
        ({"pieces": -1}, "-1 living pieces"),
        ({"pieces": 10_000}, "10,000 living pieces"),
        ({"pieces": "many"}, "Enter a whole number"),
        ({"pieces": ""}, "This field is required"),
        ({"lost": -2}, "-2 lost at the bench"),
        ({"day": "2999-01-01"}, "Jan 1, 2999 has not come yet"),
        ({"day": "soon"}, "Enter a valid date"),
        ({"medium": "rock"}, "Select a valid choice"),
        ({"first_code": "7K3Q9FX"}, "A character in 7K3-Q9F-X is wrong"),
        ({"replay_key": ""}, "The form came without its key"),
    ],
    ids=str,
)
def test_bad_input_says_why_and_writes_nothing(
    client_for: ClientFor, colony: Colony, fields: dict[str, Any], said: str
) -> None:
    answer = client_for(Role.GROWER).post(url_of(colony), form(**fields))
    assert answer.status_code == 400
    assert said in words_on(answer)
    assert not Cutting.objects.exists()


def test_a_second_cutting_of_a_day_is_not_silent(client_for: ClientFor, colony: Colony) -> None:
    client, path = client_for(Role.GROWER), f"/stock/colonies/{colony.code_id}/cut"
    assert "already" not in words_on(client.get(path))
    client.post(path, form(pieces=5))
    told = "On this day 5 pieces by Test grower were cut of it already."
    assert told in words_on(client.get(path))
    client.post(path, form(pieces=1))
    assert "5 pieces by Test grower and 1 piece by Test grower were" in words_on(client.get(path))
    other = form(pieces=0, day=(today() - timedelta(days=3)).isoformat())
    assert "were cut of it already" not in words_on(client.post(path, other))


def test_reason_is_asked_only_under_rest(client_for: ClientFor, colony: Colony) -> None:
    client, asked = client_for(Role.GROWER), 'name="despite_rest"'
    assert asked not in client.get(url_of(colony)).content.decode()
    client.post(url_of(colony), form())
    assert asked not in client.get(url_of(colony)).content.decode()
    with clock.at(clock.now() + timedelta(days=3)):
        client = client_for(Role.GROWER)
        page = client.get(url_of(colony)).content.decode()
        assert asked in page
        assert "rests until" in page
        refused = client.post(url_of(colony), form())
        assert refused.status_code == 400
        assert "rests until" in words_on(refused)
        assert Cutting.objects.count() == 1
        client.post(url_of(colony), form(despite_rest="It broke"))
    assert Cutting.objects.first().despite_rest == "It broke"  # type: ignore[union-attr]


def test_a_day_keyed_late_within_the_rest_asks_for_the_reason(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    long_ago = today() - timedelta(days=60)
    cut_colony(colony.pk, pieces=1, by=people[Role.GROWER], day=long_ago)
    client = client_for(Role.GROWER)
    assert 'name="despite_rest"' not in client.get(url_of(colony)).content.decode()
    within = (long_ago + timedelta(days=5)).isoformat()
    answer = client.post(url_of(colony), form(day=within))
    assert answer.status_code == 400
    assert 'name="despite_rest"' in answer.content.decode()


@pytest.mark.parametrize(("genus", "warned"), [("Zoanthus", True), ("Acropora", False)])
def test_poison_stands_above_the_button_where_the_genus_carries_it(
    client_for: ClientFor, people: People, genus: str, *, warned: bool
) -> None:
    # Palytoxin in zoantharians: Hamade et al., CDC MMWR 2015;64(31):852-855.
    grower = people[Role.GROWER]
    colony = make_colony(grower, variety=make_variety(grower, genus=genus))
    client = client_for(Role.GROWER)
    if warned:
        first = client.get(url_of(colony)).content.decode()
        before_button = first[: first.index("Read, go on to the cutting")]
        assert "palytoxin" in before_button
        assert "Saws and bone cutters cut" in before_button
        assert "Record the cutting" not in first
        read = client.post(url_of(colony), {"replay_key": str(uuid4())})
        assert (read.status_code, read["Location"]) == (303, url_of(colony))
    page = client.get(url_of(colony)).content.decode()
    before_button = page[: page.index("Record the cutting")]
    assert ("palytoxin" in before_button) is warned
    assert "Saws and bone cutters cut" in before_button
    assert "Dips and medicines" in before_button


def test_barred_colony_has_no_cutting_page(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    bar_colony(colony, because="held for the customs", by=people[Role.OWNER])
    answer = client_for(Role.GROWER).get(url_of(colony))
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "held for the customs" in page
    assert f"{colony.variety} is not cut" in page
    assert f'href="/T/{colony.code_id}">To the colony' in page


def test_page_asks_few_questions(
    client_for: ClientFor, colony: Colony, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client = client_for(Role.GROWER)
    with django_assert_max_num_queries(6):
        page = client.get(url_of(colony))
    assert re.search(r'name="replay_key" value="[0-9a-f-]{36}"', page.content.decode())


@pytest.fixture
def zoanthid(people: People) -> Colony:
    grower = people[Role.GROWER]
    return make_colony(grower, variety=make_variety(grower, genus="Zoanthus"))


def test_poison_is_read_once_in_a_sitting(client_for: ClientFor, zoanthid: Colony) -> None:
    client, path = client_for(Role.GROWER), f"{url_of(zoanthid)}?first=ABC"
    assert b"Read, go on to the cutting" in client.get(path).content
    read = client.post(path, {"replay_key": str(uuid4())})
    assert read["Location"] == path
    assert b"Record the cutting" in client.get(path).content
    assert b"Record the cutting" in client.get(path).content
    session = client.session
    session["bench_read_at"] = (clock.now() - timedelta(hours=13)).isoformat()
    session.save()
    assert b"Read, go on to the cutting" in client.get(path).content


def test_nothing_is_recorded_before_poison_was_read(
    client_for: ClientFor, zoanthid: Colony
) -> None:
    client = client_for(Role.GROWER)
    answer = client.post(url_of(zoanthid), form(pieces=7))
    assert answer.status_code == 400
    assert "Read what stands above the button" in words_on(answer)
    text = answer.content.decode()
    assert "get urgent medical care" in text[: text.index("Record the cutting")]
    assert 'value="7"' in text
    assert not Cutting.objects.exists()
    assert client.post(url_of(zoanthid), form(pieces=7, read="yes")).status_code == 303
    assert Cutting.objects.get().pieces == 7
    assert b"Record the cutting" in client.get(url_of(zoanthid)).content


def test_the_next_cutting_is_filled_in_as_the_last_one(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    grower = people[Role.GROWER]
    labels, rack = issue_blank_run(5), make_rack(grower)
    client = client_for(Role.GROWER)
    sent = form(
        pieces=2,
        medium="tile",
        tool="scalpel",
        dip="iodine",
        rack=rack.pk,
        first_code=labels[0].code,
    )
    assert client.post(url_of(colony), sent).status_code == 303
    cutting = Cutting.objects.get()
    assert (cutting.tool, cutting.dip, cutting.medium) == ("scalpel", "iodine", "tile")
    text = client.get(url_of(colony)).content.decode()
    assert f'value="{show_code(labels[2].code)}"' in text
    assert 'value="iodine"' in text
    assert re.search(r'value="scalpel" selected', text)
    assert re.search(rf'value="{rack.pk}" selected', text)
    assert "on tile, scalpel, iodine; rack and day" in text
    other = client_for(Role.MANAGER).get(url_of(colony)).content.decode()
    assert "on plug, no tool noted, no dip" in other
    assert client.get(f"{url_of(colony)}?first=XYZ").content.decode().count('value="XYZ"') == 1


def test_a_roll_that_is_too_short_says_so(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    labels = issue_blank_run(4)
    answer = client_for(Role.GROWER).post(url_of(colony), form(pieces=5, first_code=labels[1].code))
    assert answer.status_code == 400
    assert "Only 3 blank labels are left on this run, and 5 are needed" in words_on(answer)


def test_more_than_a_colony_bears_asks_for_the_reason(
    client_for: ClientFor, colony: Colony
) -> None:
    Colony.objects.filter(pk=colony.pk).update(most_pieces=4)
    client = client_for(Role.GROWER)
    page = client.get(url_of(colony)).content.decode()
    assert "At most 4 a sitting." in page
    assert 'name="despite_rest"' not in page
    refused = client.post(url_of(colony), form(pieces=4, lost=1))
    assert refused.status_code == 400
    assert "5 pieces off this colony in one sitting: its most is 4" in words_on(refused)
    assert 'name="despite_rest"' in refused.content.decode()
    done = client.post(url_of(colony), form(pieces=4, lost=1, despite_rest="it shades others"))
    assert done.status_code == 303
    assert Cutting.objects.get().despite_rest == "it shades others"
