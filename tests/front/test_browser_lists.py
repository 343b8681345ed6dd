"""Narrowed lists on a phone: chips, the page that narrows, files."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.stock.actions.cuttings import cut_colony
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_rack, make_variety

pytestmark = pytest.mark.browser


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over."""
    assert_accessible(page)
    assert_fits(page)


@pytest.fixture
def grower(people: People) -> None:
    """Ready frags in a rack, and some that heal elsewhere."""
    by = people[Role.GROWER]
    moss = make_colony(by, variety=make_variety(by, name="Pier Moss", genus="Zoanthus"))
    make_frags(by, 3, colony=moss, ready=True, rack=make_rack(by))
    make_frags(by, 2, lost=1)


def test_narrow_look_and_widen(live_page: Page, grower: None) -> None:
    """Four taps and two choices from all frags to those that are asked for."""
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/frags")
    judge(page)
    expect(page.locator("main .list__row")).to_have_count(5)
    page.get_by_role("link", name="Narrow").click()
    judge(page)
    page.get_by_label("Size").select_option("M")
    page.locator("#id_trough").select_option(index=1)
    page.get_by_role("button", name="Show", exact=True).click()
    page.wait_for_url(re.compile(r"/frags\?size=M&trough=\d+$"))
    expect(page.locator("main .list__row")).to_have_count(3)
    judge(page)
    chip = page.get_by_role("link", name="Take off: size M")
    box = chip.bounding_box()
    assert box is not None
    assert box["height"] >= 44
    page.get_by_text("Take out").click()
    judge(page)
    with page.expect_download() as taken:
        page.get_by_role("link", name="CSV").click()
    assert taken.value.suggested_filename == "frags.csv"
    chip.click()
    page.get_by_role("link", name=re.compile("^Take off: in trough")).click()
    expect(page).to_have_url(re.compile(r"/frags\?$"))
    expect(page.locator("main .list__row")).to_have_count(5)


def test_a_mistake_is_said_where_it_was_made(live_page: Page, grower: None) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/frags/narrow")
    page.get_by_label("Cut at least so many days ago").fill("60")
    page.get_by_label("Cut at most so many days ago").fill("30")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("No age is at least 60 and at most 30 days.")
    expect(page.get_by_label("Cut at most so many days ago")).to_have_value("30")
    judge(page)
    for control in page.locator("main .narrow").locator("input, select, button").all():
        box = control.bounding_box()
        assert box is None or min(box["height"], box["width"]) >= 44
    page.goto("/frags?stage=nonsense")
    expect(page.get_by_role("alert")).to_contain_text("there is no “nonsense”")
    judge(page)
    page.get_by_role("link", name="Show the whole list").click()
    expect(page.locator("main .list__row")).to_have_count(5)


def test_cuttings(live_page: Page, people: People, grower: None) -> None:
    page = live_page
    cut_colony(make_colony(people[Role.OWNER]).pk, pieces=7, by=people[Role.OWNER], lot=True)
    sign_in(page, Role.GROWER)
    page.get_by_role("link", name="All cuttings").click()
    expect(page.locator("main .list__row")).to_have_count(3)
    judge(page)
    page.get_by_role("link", name="Narrow").click()
    judge(page)
    page.get_by_label("Losses at the bench").select_option("yes")
    page.get_by_role("button", name="Show", exact=True).click()
    page.wait_for_url(re.compile(r"/cuttings\?lost=yes$"))
    expect(page.locator("main .list__row")).to_have_count(1)
    judge(page)
