"""Where a stop-sale is told, and from where one is begun."""

import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from typing import Final

import pytest
from django.test import Client
from playwright.sync_api import Page, expect
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.front.queries.rows import PAGE
from fraginv.front.queries.stops import stop_page
from fraginv.stock.actions.stops import Concern, end_stop, start_stop
from fraginv.stock.models import Colony, StopSale
from fraginv.stock.queries.stops import get_stop
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_rack
from tests.reading import words_on

ClientFor = Callable[[Role | None], Client]
START: Final = datetime(2026, 11, 5, 15, tzinfo=UTC)
SINCE: Final = date(2026, 11, 2)

# On which pages a stop-sale of each thing is told.
TOLD_ON: Final[Mapping[str, frozenset[str]]] = {
    "system": frozenset({"system", "trough", "rack", "colony"}),
    "trough": frozenset({"system", "trough", "rack", "colony"}),
    "colony": frozenset({"colony"}),
    "variety": frozenset({"variety", "colony"}),
    "genus": frozenset({"variety", "colony"}),
}
# Session, person and organisation are three of each, the stop-sales one.
# Three of a variety's are for how many will be ready by when.
MOST: Final = {"system": 7, "trough": 7, "rack": 10, "colony": 15, "variety": 12}


@pytest.fixture
def colony(people: People) -> Colony:
    """A colony in a rack, with frags beside it."""
    grower = people[Role.GROWER]
    rack = make_rack(grower)
    found = make_colony(grower, rack=rack)
    make_frags(grower, 2, colony=found, rack=rack)
    return found


def pages_of(colony: Colony) -> dict[str, str]:
    """Return the addresses of a colony's page, its variety's, and those of where it stands."""
    rack = colony.rack
    assert rack is not None
    return {
        "system": f"/systems/{rack.trough.system_id}",
        "trough": f"/troughs/{rack.trough_id}",
        "rack": f"/T/{rack.code_id}",
        "colony": f"/T/{colony.code_id}",
        "variety": f"/varieties/{colony.variety_id}",
    }


def stopped(colony: Colony, name: str, *, by: Person) -> StopSale:
    """Stop the sale of a colony, of its kind, or of the water in which it stands."""
    rack = colony.rack
    assert rack is not None
    concerns: dict[str, Concern] = {
        "system": rack.trough.system,
        "trough": rack.trough,
        "colony": colony,
        "variety": colony.variety,
        "genus": colony.variety.genus,
    }
    words = {"reason": "Flatworms", "ends_when": "three clean checks"}
    return start_stop(concerns[name], by=by, since=SINCE, **words)


@pytest.mark.parametrize("name", TOLD_ON)
def test_pages_tell_what_is_stopped_why_since_when_and_until_what(
    client_for: ClientFor, people: People, colony: Colony, name: str
) -> None:
    manager, reader = people[Role.MANAGER], client_for(Role.READER)
    with clock.at(START):
        stop = stopped(colony, name, by=manager)
        for page, path in pages_of(colony).items():
            answer = reader.get(path)
            told = f'href="/stops/{stop.pk}"' in answer.content.decode()
            assert told == (page in TOLD_ON[name]), (name, page)
            if told:
                said = words_on(answer)
                assert "Sale is stopped: Flatworms" in said
                assert stop.concerns in said
                assert "sold until: three clean checks. Stopped on Nov 5, 2026" in said
                assert "it may have been there since Nov 2, 2026." in said
        end_stop(stop.pk, because="Clean.", by=manager)
        for path in pages_of(colony).values():
            assert "Sale is stopped" not in words_on(reader.get(path))


def test_a_sale_is_stopped_from_where_the_trouble_is_seen(
    client_for: ClientFor, colony: Colony
) -> None:
    rack = colony.rack
    assert rack is not None
    links = {
        "system": f"/stops/start?system={rack.trough.system_id}",
        "trough": f"/stops/start?trough={rack.trough_id}",
        "colony": f"/stops/start?colony={colony.code_id}",
        "variety": f"/stops/start?variety={colony.variety_id}",
    }
    pages = pages_of(colony) | {"rack": f"/racks/{rack.code_id}/more"}
    for role, may in ((Role.GROWER, True), (Role.SELLER, True), (Role.READER, False)):
        client = client_for(role)
        for page, path in pages.items():
            link = links.get(page, links["trough"])
            assert (f'href="{link}"' in client.get(path).content.decode()) == may, (role, page)
    for link in links.values():
        form = client_for(Role.SELLER).get(link).content.decode()
        filled = re.search(r"value=\"\S+\" selected|value=\"\w{7}\"", form)
        assert filled, link


def test_a_page_asks_once_for_its_stop_sales(
    client_for: ClientFor,
    people: People,
    colony: Colony,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    client = client_for(Role.OWNER)
    for name in (None, *TOLD_ON):
        if name is not None:
            stopped(colony, name, by=people[Role.MANAGER])
        for page, path in pages_of(colony).items():
            with django_assert_max_num_queries(MOST[page]):
                client.get(path)


def test_an_empty_rack_tells_of_its_water_too(client_for: ClientFor, people: People) -> None:
    rack = make_rack(people[Role.GROWER])
    start_stop(rack.trough, by=people[Role.GROWER], reason="Copper", ends_when="a water change")
    assert "Sale is stopped: Copper" in words_on(client_for(Role.GROWER).get(f"/T/{rack.code_id}"))


@pytest.mark.browser
def test_the_banners_on_a_phone(live_page: Page, people: People, colony: Colony) -> None:
    for name in TOLD_ON:
        stopped(colony, name, by=people[Role.MANAGER])
    sign_in(live_page, Role.GROWER)
    for page, path in pages_of(colony).items():
        live_page.goto(path)
        banners = live_page.get_by_role("note").filter(has_text="Sale is stopped")
        expect(banners).to_have_count(sum(page in pages for pages in TOLD_ON.values()))
        assert_accessible(live_page)
        assert_fits(live_page)
    assert colony.rack is not None
    for path in (f"/racks/{colony.rack.code_id}/more", pages_of(colony)["variety"]):
        live_page.goto(path)
        button = live_page.get_by_role("link", name="Stop sale")
        box = button.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        button.click()
        expect(live_page.get_by_role("heading", name="Stop a sale")).to_be_visible()
        assert_accessible(live_page)
        assert_fits(live_page)


def test_a_further_page_of_what_is_touched_counts_nothing(
    colony: Colony,
    people: People,
    client_for: ClientFor,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    by = people[Role.MANAGER]
    make_frags(by, PAGE - 1, colony=colony)
    stop = get_stop(start_stop(colony, reason="Flatworms", ends_when="clean", by=by).pk)
    first = stop_page(stop, after=None)
    assert first.touched is not None
    assert first.touched.frags == PAGE + 1
    with django_assert_num_queries(2):
        rest = stop_page(stop, after=first.portion.after)
    assert (len(rest.rows), rest.touched) == (1, None)
    path = f"/stops/{stop.pk}?after={first.portion.after}"
    assert "Touched now, further on" in words_on(client_for(Role.OWNER).get(path))
