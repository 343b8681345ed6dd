"""Scanning with a phone: by hand, by a handheld scanner, by the camera, and without a network."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.codes import address, show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frags, make_rack

pytestmark = pytest.mark.browser


@pytest.fixture
def phone(live_page: Page, people: People) -> Page:
    """A grower's phone with the page open."""
    sign_in(live_page, Role.GROWER)
    live_page.goto("/scan")
    return live_page


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def scan(page: Page, text: str) -> None:
    """Type a code and send it, as a handheld scanner does."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def said(page: Page) -> Any:
    return page.locator("[data-scan-said]")


def test_move_frags_rack_first(phone: Page, people: People) -> None:
    grower = people[Role.GROWER]
    rack, frags = make_rack(grower), make_frags(grower, 3)
    phone.goto("/scan")
    judge(phone)
    phone.get_by_role("link", name="Move here").click()
    judge(phone)
    scan(phone, address("REEF.TEST", rack.code_id))
    expect(said(phone)).to_contain_text(str(rack))
    for frag in frags:
        scan(phone, show_code(frag.code_id).lower())
        expect(said(phone)).to_contain_text(f"Stands in {rack} now")
    expect(phone.locator("[data-scan-done-list] li")).to_have_count(3)
    judge(phone)
    assert Frag.objects.filter(rack=rack).count() == 3
    phone.screenshot(path="/tmp/scan1.png", full_page=True)
