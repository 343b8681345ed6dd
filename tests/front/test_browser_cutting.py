"""At the bench with a phone: from signing in to what a visitor sees."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.stock.models import Colony, Frag
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_variety

pytestmark = pytest.mark.browser


@pytest.fixture
def colony(people: People) -> Colony:
    """A zoanthid, which may carry palytoxin, with care for visitors to read."""
    grower = people[Role.GROWER]
    variety = make_variety(
        grower, name="Pier Moss", genus="Zoanthus", care="Medium light, some flow."
    )
    return make_colony(grower, variety=variety)


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over."""
    assert_accessible(page)
    assert_fits(page)


def read_first(page: Page) -> None:
    """Read what stands before the blade, the first time in a sitting."""
    expect(page.get_by_text("get urgent medical care")).to_be_visible()
    judge(page)
    page.get_by_role("button", name="Read, go on to the cutting").click()


def cut(page: Page, *, pieces: int, lost: int = 0, lot: bool = False) -> None:
    """Record a cutting on its page, the caution read."""
    page.get_by_label("Living pieces").fill(str(pieces))
    page.get_by_label("Lost at the bench").fill(str(lost))
    if lot:
        page.get_by_text("One for all, as a lot").click()
    judge(page)
    page.get_by_role("button", name="Record the cutting").click()
    page.wait_for_url(re.compile(r"/cuttings/\d+$"))


def test_from_the_bench_to_the_visitor(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    judge(page)
    page.get_by_role("link", name="Cut a colony").click()
    judge(page)
    page.get_by_role("link", name="Pier Moss").click()
    read_first(page)

    cut(page, pieces=12, lost=1)
    said = page.get_by_role("status").filter(has_text="12 frags cut, 1 lost at the bench")
    expect(said).to_be_visible()
    expect(page.locator(".list__row .tag--healing")).to_have_count(12)
    judge(page)

    page.goto(f"/T/{colony.code_id}")
    page.get_by_role("link", name="Cut", exact=True).click()
    cut(page, pieces=30, lot=True)
    expect(page.locator("main .list__row")).to_have_count(1)
    expect(page.locator("main .list__row")).to_contain_text("30 pieces")

    lot = Frag.objects.get(is_lot=True)
    page.locator(".list__link").click()
    page.wait_for_url(re.compile(rf"/T/{lot.code_id}$"))
    judge(page)
    page.get_by_role("button", name="size M", exact=True).click()
    page.get_by_role("dialog").get_by_role("button", name="Grade ready").click()
    expect(page.locator(".tag--ready")).to_be_visible()
    expect(page).to_have_url(re.compile(rf"/T/{lot.code_id}$"))
    judge(page)

    page.context.clear_cookies()
    page.goto(f"/t/{lot.code_id.lower()}")
    expect(page.get_by_role("heading", name="Pier Moss")).to_be_visible()
    expect(page.get_by_text("Medium light, some flow.")).to_be_visible()
    expect(page.get_by_text("Available")).to_be_visible()
    judge(page)


def test_many_frags_are_graded_from_their_list(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{colony.code_id}")
    page.get_by_role("link", name="Cut", exact=True).click()
    read_first(page)
    cut(page, pieces=3)
    page.get_by_text("All of them").click()
    expect(page.get_by_role("status").last).to_have_text("3 frags chosen")
    page.get_by_role("button", name="Grade").click()
    page.get_by_text("L", exact=True).click()
    page.get_by_role("button", name="Grade ready").click()
    page.wait_for_url(re.compile(r"/cuttings/\d+$"))
    expect(page.locator(".list__row .tag--ready")).to_have_count(3)


def test_poison_stands_right_above_the_button(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/stock/colonies/{colony.code_id}/cut")
    read_first(page)
    button = page.get_by_role("button", name="Record the cutting")
    before = button.locator("xpath=preceding-sibling::*[1]")
    expect(before).to_contain_text("palytoxin")


def test_a_cutting_that_cannot_be_says_why_and_keeps_what_was_typed(
    live_page: Page, colony: Colony
) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/stock/colonies/{colony.code_id}/cut")
    read_first(page)
    page.get_by_label("Living pieces").fill("7")
    page.get_by_label("First printed label").fill("7K3-Q9F-X")
    page.get_by_role("button", name="Record the cutting").click()
    expect(page.get_by_role("alert")).to_contain_text("A character in 7K3-Q9F-X is wrong")
    expect(page.get_by_label("Living pieces")).to_have_value("7")
    assert not Frag.objects.exists()
    judge(page)
