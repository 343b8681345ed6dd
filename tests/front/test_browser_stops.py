"""A bad day in the plant room, on a phone: every tap and every typed character is counted."""

import re
from decimal import Decimal

import pytest
from playwright.sync_api import Locator, Page, expect

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.aside import quarantine_frags, set_apart
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.water import Reading, log_water
from fraginv.stock.models import Frag, StopSale, WaterEntry
from fraginv.stock.rules.water import WaterKind
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frags, make_rack
from tests.front.test_browser_racks import Hand
from tests.trade.rows import Shop, open_shop

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def manager(people: People) -> Person:
    return people[Role.MANAGER]


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over."""
    assert_accessible(page)
    assert_fits(page)


def test_a_stop_sale_with_its_list_of_whom_to_call(
    live_page: Page, shop: Shop, manager: Person
) -> None:
    rack = make_rack(manager)
    lot = shop.priced_lot(9, rack=rack)
    shop.sell(lot, 2, customer=shop.customer("Saltmarsh", phone="555-0142", kind=shop.retail))
    shop.sell(lot, 1)
    page, hand = live_page, Hand(live_page)
    sign_in(page, Role.SELLER)
    page.goto(f"/stops/start?trough={rack.trough_id}")
    judge(page)
    hand.tap(page.get_by_label("Why", exact=True))
    hand.type("Flatworms")
    hand.tap(page.get_by_label("What ends it"))
    hand.type("3 clean checks")
    hand.button("Stop the sale")
    page.wait_for_url(re.compile(r"/stops/\d+$"))
    judge(page)
    hand.link("Who bought from there")
    expect(page.get_by_role("link", name="555-0142")).to_be_visible()
    expect(page.get_by_text("to walk-ins without a name in 1 sale")).to_be_visible()
    judge(page)
    assert StopSale.objects.get().trough == rack.trough
    assert (hand.taps, hand.typed) == (4, 23)
    page.goto("/")
    expect(page.get_by_text("Flatworms")).to_be_visible()
    judge(page)
    page.goto(f"/T/{rack.code_id}")
    expect(page.get_by_text("Sale is stopped: Flatworms")).to_be_visible()
    page.goto(f"/T/{lot.code_id}")
    expect(page.get_by_role("link", name="What it touches")).to_be_visible()
    judge(page)
    page.goto("/stops")
    judge(page)


def apart(button: Locator, words: Locator, *, row: Locator) -> None:
    """Fail if a button overlaps words of its row, or stands out of it."""
    one, other, around = (part.bounding_box() for part in (button, words, row))
    assert one
    assert other
    assert around
    is_beside = one["x"] >= other["x"] + other["width"] or one["x"] + one["width"] <= other["x"]
    is_below = one["y"] >= other["y"] + other["height"] or one["y"] + one["height"] <= other["y"]
    assert is_beside or is_below
    assert around["x"] <= one["x"]
    assert one["x"] + one["width"] <= around["x"] + around["width"]


def test_five_losses_and_back(live_page: Page, manager: Person) -> None:
    make_frags(manager, 7)
    page, hand = live_page, Hand(live_page)
    sign_in(page, Role.GROWER)
    page.goto("/frags")
    for place in range(5):
        hand.tap(page.locator(".list__choose").nth(place))
    hand.button("Lost")
    judge(page)
    hand.tap(page.get_by_text("Pest", exact=True))
    hand.button("Write them off")
    hand.tap(page.get_by_role("dialog").get_by_role("button", name="Write off"))
    page.wait_for_url(re.compile(r"/stock/losses"))
    judge(page)
    for row in page.locator(".list__row").all():
        apart(row.get_by_role("button", name="Take back"), row.locator(".list__end"), row=row)
    assert Frag.objects.filter(stage="lost").count() == 5
    assert (hand.taps, hand.typed) == (9, 0)
    hand.button("Take all 5 back", exact=False)
    expect(page.get_by_text("5 losses taken back")).to_be_visible()
    assert Frag.objects.filter(pieces=1).count() == 7


def test_quarantine_and_apart(live_page: Page, manager: Person) -> None:
    frags = make_frags(manager, 3)
    rack = make_rack(manager, quarantine=True)
    quarantine_frags([frags[0].pk], rack=rack, by=manager)
    set_apart([frags[1].pk], by=manager, reason="pale at the base")
    page = live_page
    sign_in(page, Role.GROWER)
    for url in ("/quarantine", "/apart"):
        page.goto(url)
        judge(page)
    page.goto("/quarantine")
    page.locator(".list__choose").first.click()
    page.get_by_role("button", name="Release").click()
    judge(page)
    page.get_by_role("button", name="Release").click()
    expect(page.get_by_role("alert")).to_contain_text("A manager may let it out before")
    judge(page)


def test_the_water_is_written_down_and_drawn(live_page: Page, manager: Person) -> None:
    rack = make_rack(manager)
    page, hand = live_page, Hand(live_page)
    sign_in(page, Role.GROWER)
    page.goto("/stock/water")
    judge(page)
    hand.link("Write down")
    judge(page)
    hand.tap(page.get_by_label("Temperature, °C"))
    hand.type("25.1")
    hand.tap(page.get_by_label("Alkalinity, dKH"))
    hand.type("8.2")
    hand.button("Write it down")
    page.wait_for_url(re.compile(r"/stock/water\?"))
    judge(page)
    expect(page.locator(".series__picture")).to_have_count(2)
    assert (hand.taps, hand.typed) == (4, 7)
    assert WaterEntry.objects.filter(system=rack.trough.system).count() == 2
    page.get_by_role("button", name="Strike out").first.click()
    page.get_by_role("dialog").get_by_role("button", name="Strike out").click()
    expect(page.locator(".series__picture")).to_have_count(1)
    judge(page)


def test_losses_and_survival_are_read_on_a_phone(live_page: Page, manager: Person) -> None:
    for frag in make_frags(manager, 9)[:4]:
        record_loss(frag.pk, pieces=1, cause="rtn", by=manager)
    water = make_rack(manager).trough
    log_water(water, readings=[Reading(WaterKind.CALCIUM, Decimal(410))], by=manager)
    page = live_page
    sign_in(page, Role.MANAGER)
    for url in ("/reports/losses", "/reports/losses?by=cutter", "/reports/losses/survival"):
        page.goto(url)
        judge(page)
    expect(page.locator(".curve__picture")).to_be_visible()
