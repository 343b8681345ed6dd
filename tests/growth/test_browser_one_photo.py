"""A frag's own photo form on a phone: what was chosen is kept while the network is away."""

import re

import pytest
from playwright.sync_api import FilePayload, Page, Route, expect

from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.growth.models import Photo
from fraginv.stock.models import Frag
from tests.base.test_pictures import make_picture
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frag
from tests.growth.labelled import labelled

pytestmark = pytest.mark.browser


@pytest.fixture
def grower(people: People) -> Person:
    return people[Role.GROWER]


@pytest.fixture
def frag(grower: Person) -> Frag:
    return make_frag(grower)


@pytest.fixture
def phone(live_page: Page, frag: Frag) -> Page:
    sign_in(live_page, Role.GROWER)
    live_page.goto(f"/photos/of/{frag.code_id}/add")
    return live_page


def choose(page: Page, data: bytes = b"") -> None:
    chosen: FilePayload = {
        "name": "reef.jpg",
        "mimeType": "image/jpeg",
        "buffer": data or make_picture(),
    }
    page.get_by_label("Picture", exact=True).set_input_files([chosen])
    page.get_by_role("button", name="File the picture").click()


def filed(page: Page, frag: Frag) -> None:
    page.wait_for_url(re.compile(rf"/T/{frag.code_id}\?filed="))
    assert Photo.objects.get().frag == frag


def test_it_is_filed_as_before(phone: Page, frag: Frag) -> None:
    choose(phone)
    filed(phone, frag)
    expect(phone.get_by_text("The picture is filed.")).to_be_visible()


def test_it_goes_when_the_network_is_back(phone: Page, frag: Frag) -> None:
    phone.context.set_offline(True)
    phone.get_by_label("What it shows").fill("Blue light")
    choose(phone)
    expect(phone.locator("[data-shot-said]")).to_contain_text("No network. The picture is kept")
    expect(phone.get_by_role("button", name="Try again now")).to_be_visible()
    assert_accessible(phone)
    assert_fits(phone)
    phone.context.set_offline(False)
    filed(phone, frag)
    assert Photo.objects.get().caption == "Blue light"


def test_an_answer_that_was_lost_files_nothing_twice(phone: Page, frag: Frag) -> None:
    lost: list[str] = []

    def lose(route: Route) -> None:
        if route.request.method != "POST" or lost:
            route.continue_()
            return
        lost.append("once")
        route.fetch()
        route.abort()

    phone.route("**/add", lose)
    choose(phone)
    filed(phone, frag)
    assert lost
    assert frag.events.filter(kind="photographed").count() == 1


def test_another_frags_label_is_told_and_one_tap_files_it_there(
    phone: Page, frag: Frag, grower: Person
) -> None:
    other = make_frag(grower)
    choose(phone, labelled(other.code_id))
    phone.wait_for_url(re.compile(rf"/reads/{other.code_id}$"))
    expect(phone.get_by_text(f"reads {show_code(other.code_id)}, not").first).to_be_visible()
    assert_accessible(phone)
    assert_fits(phone)
    expect(phone.get_by_role("button", name="File it under")).to_be_in_viewport()
    phone.get_by_role("button", name="File it under").click()
    filed(phone, other)
    phone.goto(f"/photos/of/{other.code_id}/photos")
    assert_accessible(phone)
    assert_fits(phone)


def test_what_is_no_picture_is_said_and_another_one_chosen(phone: Page, frag: Frag) -> None:
    choose(phone, b"%PDF-1.7 and more")
    expect(phone.locator("[data-shot-said]")).to_contain_text("The file is a PDF")
    choose(phone)
    filed(phone, frag)


def test_what_is_too_large_is_refused_before_it_is_sent(phone: Page) -> None:
    choose(phone, b"0" * (25 * 1024 * 1024 + 1))
    expect(phone.locator("[data-shot-said]")).to_contain_text("more than 25 MB")


def test_who_was_signed_out_meanwhile_is_told(phone: Page) -> None:
    phone.context.clear_cookies()
    choose(phone)
    expect(phone.locator("[data-shot-said]")).to_contain_text("Sign in again")
    assert not Photo.objects.exists()
