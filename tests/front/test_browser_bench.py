"""The sitting at the bench on a phone, counted in taps and typed characters."""

import re
from dataclasses import dataclass

import pytest
from playwright.sync_api import Locator, Page, expect

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Colony, Cutting, Frag
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_rack, make_variety

pytestmark = pytest.mark.browser


@dataclass
class Thumb:
    """A thumb that counts what it does."""

    taps: int = 0
    typed: int = 0

    def tap(self, target: Locator) -> None:
        target.click()
        self.taps += 1

    def write(self, target: Locator, text: str) -> None:
        """Tap into a field and type over what stands in it."""
        self.tap(target)
        target.press("ControlOrMeta+a")
        target.press_sequentially(text)
        self.typed += len(text)


@pytest.fixture
def colony(people: People) -> Colony:
    grower = people[Role.GROWER]
    make_rack(grower)
    return make_colony(grower, variety=make_variety(grower, name="Pier Moss", genus="Zoanthus"))


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def is_on_the_first_screen(page: Page, target: Locator) -> bool:
    """Tell whether something is wholly in sight, above the bar at the foot, without scrolling."""
    box, bar = target.bounding_box(), page.locator(".nav-bar").bounding_box()
    assert box is not None
    assert bar is not None
    return page.evaluate("window.scrollY") == 0 and box["y"] + box["height"] <= bar["y"]


def test_cut_12_with_labels_printed_ahead(live_page: Page, people: People, colony: Colony) -> None:
    labels = issue_blank_run(40)
    page, thumb = live_page, Thumb()
    sign_in(page, Role.GROWER)

    # The first of the roll is scanned by the phone's camera, which opens its address.
    page.goto(f"/T/{labels[0].code}")
    thumb.tap(page.get_by_role("link", name="Cut a colony with it"))
    judge(page)
    thumb.tap(page.get_by_role("link", name="Pier Moss"))
    judge(page)
    thumb.tap(page.get_by_role("button", name="Read, go on to the cutting"))
    judge(page)
    expect(page.get_by_label("First printed label")).to_have_value(show_code(labels[0].code))
    button = page.get_by_role("button", name="Record the cutting")
    expect(page.get_by_text("Take care: it may carry palytoxin")).to_be_visible()
    assert is_on_the_first_screen(page, button)
    thumb.write(page.get_by_label("Living pieces"), "12")
    thumb.tap(button)
    page.wait_for_url(re.compile(r"/cuttings/\d+$"))
    assert (thumb.taps, thumb.typed) == (5, 2)
    codes = Cutting.objects.get().frags.order_by("pk").values_list("code_id", flat=True)
    assert list(codes) == [label.code for label in labels[:12]]

    # The next colony of the sitting: nothing to read, the next label of the roll is there.
    thumb = Thumb()
    thumb.tap(page.get_by_role("link", name="Next colony"))
    expect(page.get_by_text("Today: 12 pieces of 1 cutting")).to_be_visible()
    judge(page)
    thumb.tap(page.get_by_role("main").get_by_role("link", name="Pier Moss").first)
    expect(page.get_by_label("First printed label")).to_have_value(show_code(labels[12].code))
    thumb.write(page.get_by_label("Living pieces"), "12")
    thumb.tap(page.get_by_role("button", name="Record the cutting"))
    page.wait_for_url(re.compile(rf"/cuttings/{Cutting.objects.latest('pk').pk}$"))
    assert (thumb.taps, thumb.typed) == (4, 2)
    assert Frag.objects.count() == 24


def test_cut_12_with_labels_printed_afterwards(live_page: Page, colony: Colony) -> None:
    page, thumb = live_page, Thumb()
    sign_in(page, Role.GROWER)
    thumb.tap(page.get_by_role("link", name="Cut a colony"))
    thumb.tap(page.get_by_role("link", name="Pier Moss"))
    thumb.tap(page.get_by_role("button", name="Read, go on to the cutting"))
    thumb.write(page.get_by_label("Living pieces"), "12")
    thumb.tap(page.get_by_role("button", name="Record the cutting"))
    page.wait_for_url(re.compile(r"/cuttings/\d+$"))
    assert (thumb.taps, thumb.typed) == (5, 2)
    judge(page)

    thumb.tap(page.get_by_role("link", name="Next colony"))
    thumb.tap(page.get_by_role("link", name="Labels for all (12)"))
    page.wait_for_url(re.compile(r"/labels"))
    shown = page.get_by_role("main").inner_text() + str(
        [box.input_value() for box in page.locator("main textarea").all()]
    )
    for code in Frag.objects.values_list("code_id", flat=True):
        assert show_code(code) in shown or code in shown
    assert thumb.taps == 7


def test_tool_and_dip_are_noted_once(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/stock/colonies/{colony.code_id}/cut")
    page.get_by_role("button", name="Read, go on to the cutting").click()
    page.get_by_text("on plug, no tool noted, no dip").click()
    page.get_by_label("Tool").select_option("Bone cutter")
    page.get_by_label("Dip").fill("iodine")
    judge(page)
    page.get_by_label("Living pieces").fill("3")
    page.get_by_role("button", name="Record the cutting").click()
    expect(page.get_by_text("Tool: bone cutter; dip: iodine.")).to_be_visible()
    page.get_by_role("link", name="Cut again").click()
    expect(page.get_by_text("on plug, bone cutter, iodine; rack and day")).to_be_visible()
    judge(page)
