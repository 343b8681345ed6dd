"""Fixtures that tests of every package share."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime

import pytest
from django.core.cache import caches
from django.test import Client
from hypothesis import settings as properties
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page
from pytest_django.live_server_helper import LiveServer

from fraginv.base import clock
from fraginv.base.actions.founding import add_person, found_organisation
from fraginv.base.models import Organisation, Person
from fraginv.base.rules.roles import Role
from fraginv.base.throttle import CACHE
from tests.browsing import DESK, PASSWORD, PHONE, launched, requests_counted

# The same examples in every run, however slow the machine.
properties.register_profile("house", deadline=None, derandomize=True)
properties.load_profile("house")

People = dict[Role, Person]
POLICIES = ("Content Security Policy", "Permissions-Policy", "Permissions policy")


@pytest.fixture(autouse=True)
def _nothing_looked_up_yet() -> None:
    """Look-ups by strangers are counted by address, and all tests share one."""
    caches[CACHE].clear()


@pytest.fixture
def organisation(db: None) -> Organisation:
    """The organisation that every test with rows needs."""
    return found_organisation(
        "Tidewater Hall Aquarium",
        currency="USD",
        zone="America/New_York",
        label_host="REEF.TEST",
    )


@pytest.fixture
def people(organisation: Organisation) -> People:
    """One person in each role, signing in with the role's name and ``PASSWORD``."""
    return {
        role: add_person(role.value, name=f"Test {role.value}", role=role, password=PASSWORD)
        for role in Role
    }


@pytest.fixture
def grower(people: People) -> Person:
    """Who cuts, places, grades and prints."""
    return people[Role.GROWER]


@pytest.fixture
def seller(people: People) -> Person:
    """Who holds and sells."""
    return people[Role.SELLER]


@pytest.fixture
def manager(people: People) -> Person:
    """Who sets prices and enters costs."""
    return people[Role.MANAGER]


@pytest.fixture
def frozen() -> Iterator[None]:
    """Let it be noon of one Wednesday in New York, from the first row on."""
    with clock.at(datetime(2026, 11, 25, 17, tzinfo=UTC)):
        yield


@pytest.fixture
def client_for(people: People) -> Callable[[Role | None], Client]:
    """Give a client signed in as the person in a role, or as nobody."""

    def make(role: Role | None) -> Client:
        client = Client()
        if role is not None:
            client.force_login(people[role])
        return client

    return make


@pytest.fixture
def browser_for(client_for: Callable[[Role | None], Client]) -> Callable[[Role | None], Client]:
    """Give a client that shows pages as a browser would, whatever broke."""

    def make(role: Role | None) -> Client:
        client = client_for(role)
        client.raise_request_exception = False
        return client

    return make


@pytest.fixture
def broken_list(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the list of frags break, in words that nobody may repeat."""

    def fail(*args: object, **kwargs: object) -> None:
        try:
            raise ValueError("555-0100")
        except ValueError as error:
            raise KeyError("Ida Byrne") from error

    monkeypatch.setattr("fraginv.front.views.lists.render", fail)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, for the whole run; where there is none, the test fails."""
    with launched() as running:
        yield running


@pytest.fixture
def page_at(
    browser: Browser, live_server: LiveServer, people: People
) -> Iterator[Callable[[int, int], Page]]:
    """Open a page of a given width and height on the live server.

    An error in a page's own script fails the test at its end, and so does
    anything on a page that its policies forbid or do not know.
    """
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def listen(said: ConsoleMessage) -> None:
        if any(policy in said.text for policy in POLICIES):
            errors.append(f"{said.text} ({said.location})")

    def make(width: int, height: int) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": height},
            reduced_motion="reduce",
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on("console", listen)
        return page

    with requests_counted() as wait_for_answers:
        yield make
        for context in contexts:
            context.close()
        # What the page sent last may be on its way still, and must not meet the emptied tables.
        wait_for_answers()
    assert not errors, f"Scripts failed in the page, or broke its policies: {errors}"


@pytest.fixture
def live_page(page_at: Callable[[int, int], Page]) -> Page:
    """A page at the width of a phone; ``sign_in`` of tests.browsing signs in."""
    return page_at(*PHONE)


@pytest.fixture
def desk_page(page_at: Callable[[int, int], Page]) -> Page:
    """A page at the width of a desk's screen."""
    return page_at(*DESK)
