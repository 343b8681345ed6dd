"""When frags will be ready, on the pages where the crew looks for it."""

from collections.abc import Callable

import pytest
from django.test import Client
from playwright.sync_api import Page, expect
from pytest_django import DjangoAssertNumQueries

from fraginv.base.rules.roles import Role
from fraginv.growth.actions.paces import count_paces
from fraginv.stock.models import Colony, Frag
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.growth.rows import cut, grade, measure
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def colony(people: People) -> Colony:
    """A colony of which 24 frags took 100 days to be ready, and six grow since 70 days."""
    grower = people[Role.GROWER]
    colony = make_colony(grower, variety=make_variety(grower, name="Pier Moss"))
    for days in (330, 280, 230, 180):
        grade(cut(colony, by=grower, days=days), by=grower, days=days - 100)
    cut(colony, by=grower, days=70)
    count_paces()
    return colony


def growing() -> Frag:
    """Return a frag that is not ready yet."""
    return Frag.objects.filter(stage="growing").order_by("pk")[0]


def test_a_frags_page_says_when_and_on_what_it_rests(
    client_for: ClientFor, people: People, colony: Colony
) -> None:
    client, frag = client_for(Role.GROWER), growing()
    said = words_on(client.get(f"/T/{frag.code_id}"))
    assert "Ready in 2–7 weeks" in said
    assert "with 8 chances in 10" in said
    assert "Rests on the weeks of 24 frags of this variety that became ready here." in said
    for days, area in ((50, 200.0), (20, 280.0), (2, 330.0)):
        measure(frag, by=people[Role.GROWER], days=days, area_mm2=area)
    said = words_on(client.get(f"/T/{frag.code_id}"))
    assert "Rests on 3 measurements of its own and the weeks of 24 frags" in said
    assert "sizes over time" in said
    assert "chances in 10" not in words_on(client_for(None).get(f"/T/{frag.code_id}"))


def test_what_is_ready_or_gone_says_nothing(client_for: ClientFor, colony: Colony) -> None:
    ready = Frag.objects.filter(stage="ready").order_by("pk")[0]
    said = words_on(client_for(Role.GROWER).get(f"/T/{ready.code_id}"))
    assert "chances in 10" not in said


def test_a_frags_page_asks_two_more_at_the_most(
    client_for: ClientFor,
    people: People,
    colony: Colony,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client, frag = client_for(Role.GROWER), growing()
    client.get(f"/T/{frag.code_id}")
    # Six of any frag, one for its pace.
    with django_assert_max_num_queries(7):
        client.get(f"/T/{frag.code_id}")
    measure(frag, by=people[Role.GROWER], days=2, area_mm2=300)
    # One for its photos, one for what they say, one for its sizes.
    with django_assert_max_num_queries(10):
        client.get(f"/T/{frag.code_id}")


def test_lists_say_when(client_for: ClientFor, colony: Colony) -> None:
    client = client_for(Role.GROWER)
    assert words_on(client.get("/frags?stage=growing")).count("ready in 2–7 weeks") == 6
    assert "ready in" not in words_on(client.get("/frags?stage=ready"))


def test_what_is_likely_ready_is_not_said_to_be_ready_later(
    client_for: ClientFor, colony: Colony
) -> None:
    assert "ready in" not in words_on(client_for(Role.GROWER).get("/ready"))


def test_a_variety_says_how_its_frags_grew_and_how_many_come(
    client_for: ClientFor, colony: Colony
) -> None:
    said = words_on(client_for(Role.READER).get(f"/varieties/{colony.variety_id}"))
    assert "after 14 weeks, 8 of 10 between" in said
    assert "the weeks of 24 frags of this variety that became ready here" in said
    assert "0.90 % a day of projected area, doubled in 77 days" in said
    assert "Of 6 pieces that grow or heal" in said
    assert "Ready and alive" in said


@pytest.mark.browser
def test_on_a_phone(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    for path in (
        f"/T/{growing().code_id}",
        "/frags?stage=growing",
        "/ready",
        f"/varieties/{colony.variety_id}",
        f"/stock/varieties/{colony.variety_id}/ready",
    ):
        page.goto(path)
        assert_accessible(page)
        assert_fits(page)
    expect(page.get_by_label("Sold from so many mm across")).to_be_visible()
