"""The ways through the house: what each role may open, and how they are shown."""

import re
from collections.abc import Callable

import pytest
from django.test import RequestFactory
from playwright.sync_api import Page, expect

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role, can
from fraginv.front.access import ACCESS, SIGNED_IN, Need
from fraginv.front.context import FIRST, GROUPS, Item, Ways, navigation
from tests.browsing import PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People

PageAt = Callable[[int, int], Page]
DESK = (1280, 800)
ITEMS = {item.name: item for item in (*FIRST, *(one for g in GROUPS for one in g.places))}


def ways_for(role: Role, path: str = "/T/7K3Q9F2") -> Ways:
    """Return the ways of somebody with a role who looks at a page."""
    request = RequestFactory().get(path)
    request.user = Person(role=role, name="Test", is_active=True)
    found: Ways = navigation(request)["navigation"]
    return found


def shown(ways: Ways) -> list[Item]:
    return [*ways.first, *(item for group in ways.groups for item in group.places)]


def may_open(role: Role, name: str) -> bool:
    need: Need = ACCESS[name]["GET"]
    return need == SIGNED_IN or (need != "public" and can(role, need))


@pytest.mark.parametrize("role", Role)
def test_each_role_sees_once_what_it_may_open_and_nothing_else(role: Role) -> None:
    names = [item.name for item in shown(ways_for(role))]
    assert len(names) == len(set(names))
    assert all(may_open(role, name) for name in names)
    rights = {name: item.right for name, item in ITEMS.items()}
    assert set(names) == {
        name for name, right in rights.items() if right is None or can(role, right)
    }


@pytest.mark.parametrize(
    ("role", "labels"),
    [
        (Role.GROWER, ["Today", "Scan", "Frags", "Rounds"]),
        (Role.SELLER, ["Today", "Scan", "Frags", "Sell"]),
        (Role.OWNER, ["Today", "Scan", "Frags", "Sell"]),
        (Role.READER, ["Today", "Scan", "Frags", "Colonies"]),
    ],
)
def test_four_stand_before_all_others(role: Role, labels: list[str]) -> None:
    assert [item.label for item in ways_for(role).first] == labels


@pytest.mark.parametrize(
    ("role", "path", "opened", "current"),
    [
        (Role.OWNER, "/T/7K3Q9F2", "Growing", None),
        (Role.SELLER, "/T/7K3Q9F2", "Selling", None),
        (Role.READER, "/frags", "Money", "Frags"),
        (Role.OWNER, "/costs/bills/7", "Money", "Running costs"),
        (Role.OWNER, "/reports/losses/survival", "Growing", "Losses"),
        (Role.GROWER, "/stops/4/bought", "Set apart and stopped", "Stop-sales"),
        (Role.GROWER, "/", "Growing", "Today"),
    ],
)
def test_the_group_where_one_is_shows_at_once(
    role: Role, path: str, opened: str, current: str | None
) -> None:
    ways = ways_for(role, path)
    assert [group.title for group in ways.groups if group.opened] == [opened]
    assert [item.label for item in shown(ways) if item.current] == ([current] if current else [])


@pytest.mark.browser
@pytest.mark.parametrize("role", Role)
def test_the_side_fits_a_small_desk_whatever_is_opened(
    page_at: PageAt, people: People, role: Role
) -> None:
    page = page_at(*DESK)
    sign_in(page, role)
    side = page.locator(".nav-side__column")
    for title in side.locator("nav .nav-group__title").all():
        if title.locator("xpath=..").get_attribute("open") is None:
            title.click()
        assert side.evaluate("e => e.scrollHeight <= e.clientHeight"), title.inner_text()
    assert side.locator("details[open]").count() <= 1
    assert_accessible(page)
    assert_fits(page)


@pytest.mark.browser
def test_the_sheet_on_a_phone_is_short(page_at: PageAt, people: People) -> None:
    page = page_at(*PHONE)
    sign_in(page, Role.OWNER)
    page.locator(".nav-bar__more > summary").click()
    sheet = page.locator(".nav-bar__sheet")
    expect(sheet.get_by_role("link", name="Rounds")).to_be_hidden()
    for title in sheet.locator(".nav-group__title").all():
        title.click()
        assert sheet.evaluate("e => e.scrollHeight <= e.clientHeight"), title.inner_text()
    assert_accessible(page)
    sheet.get_by_role("link", name="Upkeep").click()
    expect(page).to_have_url(re.compile("upkeep"))
    page.locator(".nav-bar__more > summary").click()
    expect(sheet.get_by_role("link", name="Upkeep")).to_be_visible()
