"""The field that finds, in a real browser: arrows, Enter, a thumb, a reader of screens."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.stock.models import Rack
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_rack, make_variety

pytestmark = pytest.mark.browser


@pytest.fixture
def rack(people: People) -> Rack:
    """Three things of like names."""
    grower = people[Role.GROWER]
    for name in ("Lantern", "Lantern Fish"):
        make_colony(grower, variety=make_variety(grower, name=name))
    return make_rack(grower, name="Lantern shelf")


def test_arrows_and_enter(live_page: Page, rack: Rack) -> None:
    """Source: WAI-ARIA Authoring Practices, combobox with list autocomplete, manual selection."""
    page = live_page
    sign_in(page, Role.GROWER)
    field = page.get_by_role("combobox", name=re.compile("^Find "))
    expect(field).to_have_attribute("aria-expanded", "false")
    expect(field).to_have_attribute("aria-autocomplete", "list")
    field.press_sequentially("lantern")
    options = page.get_by_role("option")
    expect(options).to_have_count(5)
    expect(field).to_have_attribute("aria-expanded", "true")
    expect(page.locator("[data-find-said]")).to_contain_text("5 answers")
    assert field.get_attribute("aria-activedescendant") is None
    assert_accessible(page)
    assert_fits(page)

    page.keyboard.press("ArrowUp")
    expect(options.last).to_have_attribute("aria-selected", "true")
    page.keyboard.press("ArrowDown")
    expect(options.first).to_have_attribute("aria-selected", "true")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    chosen = field.get_attribute("aria-activedescendant")
    assert chosen is not None
    expect(page.locator(f"#{chosen}")).to_contain_text("Lantern shelf")
    expect(field).to_be_focused()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(rf"/T/{rack.code_id}$"))


def test_escape_closes_and_enter_alone_leads_to_all_answers(live_page: Page, rack: Rack) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    field = page.get_by_role("combobox")
    field.press_sequentially("lantern")
    expect(page.get_by_role("option")).to_have_count(5)
    page.keyboard.press("Escape")
    expect(page.get_by_role("listbox")).to_be_hidden()
    expect(field).to_have_value("lantern")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/find\?q=lantern$"))
    expect(page.locator("main .list__row")).to_have_count(5)
    assert_accessible(page)
    assert_fits(page)
    expect(page.get_by_role("combobox")).to_have_value("lantern")
    page.get_by_role("combobox").focus()
    page.keyboard.press("Escape")
    expect(page.get_by_role("combobox")).to_have_value("")


def test_a_thumb_and_three_characters(live_page: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    page = live_page
    sign_in(page, Role.SELLER)
    page.get_by_role("combobox").press_sequentially(frag.code_id[-3:].lower())
    option = page.get_by_role("option")
    expect(option).to_have_count(1)
    box = option.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    option.click()
    page.wait_for_url(re.compile(rf"/T/{frag.code_id}$"))


def test_the_network_is_away(live_page: Page, rack: Rack) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.context.set_offline(True)
    field = page.get_by_role("combobox")
    field.press_sequentially("lantern")
    page.wait_for_timeout(400)
    expect(page.get_by_role("listbox")).to_be_hidden()
    expect(field).to_have_value("lantern")
    page.context.set_offline(False)
    field.press_sequentially(" sh")
    expect(page.get_by_role("option")).to_have_count(1)
    expect(page.get_by_role("option")).to_contain_text("Lantern shelf")


def test_without_a_script_it_is_a_form(live_page: Page, rack: Rack) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.route("**/find*.js", lambda route: route.abort())
    page.goto("/")
    field = page.get_by_role("searchbox")
    field.fill("lantern shelf")
    field.press("Enter")
    page.wait_for_url(re.compile(rf"/T/{rack.code_id}$"))
