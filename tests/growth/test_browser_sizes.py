"""What is seen and reached on the pages of sizes: nothing hidden, nothing too small."""

from collections.abc import Callable

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag
from tests.browsing import PHONE, assert_accessible, assert_fits, sign_in
from tests.factories import make_colony, make_frag
from tests.growth.rows import cut, measure
from tests.growth.shots import Shot, file_shot

pytestmark = pytest.mark.browser
# WCAG 2.2, 2.5.5 Target Size (Enhanced); the house keeps it for buttons and ways back.
TARGET_PX = 44
# The smallest words that pages have elsewhere are 14 px; in pictures a little less is read.
WORD_PX = 11
MEASURE = "growth:measure"


def box(found: Locator) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom in pixels of the window."""
    at = found.bounding_box()
    assert at is not None
    return at["x"], at["y"], at["x"] + at["width"], at["y"] + at["height"]


def assert_large_enough(page: Page) -> None:
    """Fail where a button or the way back is too small for a thumb."""
    targets = page.locator("main :is(.button, .stepper__button, .trail, .measure__jump):visible")
    assert targets.count() > 1
    small = targets.evaluate_all(
        """(all, least) => all
            .map((one) => [one.innerText, one.getBoundingClientRect()])
            .filter(([, at]) => Math.min(at.width, at.height) < least - 0.5)
            .map(([text, at]) => `${text}: ${at.width} × ${at.height}`)""",
        TARGET_PX,
    )
    assert small == []


def opened(page: Page, shot: Shot, name: str = MEASURE) -> None:
    sign_in(page, Role.GROWER)
    page.goto(reverse(name, args=[shot.photo.pk, shot.photo.mark]))
    assert_fits(page)


def test_the_height_stays_in_sight_and_is_one_tap_away(live_page: Page, grower: Person) -> None:
    page = live_page
    opened(page, file_shot(make_frag(grower), by=grower))
    tall = page.locator("[data-measure-tall]")
    expect(tall).to_have_text("15 mm")
    expect(tall).to_be_in_viewport()
    page.get_by_role("link", name="15 mm high").click()
    expect(page.get_by_role("button", name="Tall 22 mm")).to_be_in_viewport()
    page.get_by_role("button", name="Tall 22 mm").click()
    expect(tall).to_have_text("22 mm")
    page.locator("[name=height_mm]").fill("")
    expect(tall).to_have_text("–")
    page.locator("[name=height_mm]").fill("7.26")
    expect(tall).to_have_text("7.3 mm")
    assert_large_enough(page)


def test_the_bar_hides_no_tool(page_at: Callable[[int, int], Page], grower: Person) -> None:
    page = page_at(1280, 800)
    opened(page, file_shot(make_frag(grower), by=grower))
    page.locator("[data-measure-mode=draw]").click()
    tools = page.locator(".measure__tools")
    assert tools.count() == 2
    assert box(tools.nth(1))[3] <= box(page.locator(".bar"))[1]
    assert box(page.locator("[data-measure-picture]"))[3] <= box(tools.nth(0))[1]
    assert page.evaluate("window.scrollY") == 0


@pytest.mark.parametrize(("high", "moved"), [(932, False), (664, True)])
def test_tools_are_at_hand_on_a_phone_as_high_as_its_browser_leaves_it(
    page_at: Callable[[int, int], Page], grower: Person, high: int, moved: bool
) -> None:
    """664 px are left of 844 under a browser's own bars; from memory."""
    page = page_at(390, high)
    shot = file_shot(make_frag(grower), by=grower)
    opened(page, shot)
    expect(page.get_by_text("Tap the coral.")).to_be_in_viewport()
    assert (page.evaluate("window.scrollY") > 0) == moved
    page.locator("[data-measure-mode=draw]").click()
    left, top, right, bottom = box(page.locator("[data-measure-picture]"))
    for share in (0.2, 0.5, 0.8):
        page.mouse.click(left + share * (right - left), top + share**2 * (bottom - top))
    expect(page.locator("[data-measure-area]")).to_contain_text("cm²")
    assert box(page.locator(".measure__tools").nth(1))[3] <= box(page.locator(".bar"))[1]


def test_an_outline_stays_closed_while_the_height_is_typed(live_page: Page, grower: Person) -> None:
    page = live_page
    opened(page, file_shot(make_frag(grower), by=grower))
    page.locator("[data-measure-mode=draw]").click()
    left, top, right, bottom = box(page.locator("[data-measure-picture]"))
    middle = ((left + right) / 2, (top + bottom) / 2)
    for x, y in ((-60, -60), (60, -60), (60, 60), (-60, 60)):
        page.mouse.click(middle[0] + x, middle[1] + y)
    line = page.locator("[data-measure-picture] .measure__line")
    assert (line.get_attribute("d") or "").endswith("Z")
    page.locator("[name=height_mm]").fill("")
    expect(page.locator("[data-measure-area]")).to_have_text("–")
    assert (line.get_attribute("d") or "").endswith("Z")


def test_a_width_by_hand_says_first_why_a_length_is_asked(live_page: Page, grower: Person) -> None:
    page = live_page
    shot = file_shot(make_frag(grower), by=grower, has_card=False, has_label=False)
    opened(page, shot, "growth:measure_width")
    why = page.locator("main .notice--caution")
    expect(why).to_contain_text("so nothing tells how large a pixel is")
    assert box(why)[3] <= box(page.get_by_label("Length between the two points, mm"))[1]
    left, _, right, _ = box(page.locator("input[type=image]"))
    assert 0 <= left < right <= PHONE[0]
    assert_large_enough(page)


@pytest.fixture
def grown(grower: Person) -> Frag:
    """A frag that was measured twice."""
    (frag,) = cut(make_colony(grower), by=grower, days=120, pieces=1)
    for days, area in ((45, 400.0), (5, 590.0)):
        measure(frag, by=grower, days=days, area_mm2=area, with_outline=True)
    return frag


def test_words_in_pictures_can_be_read(
    page_at: Callable[[int, int], Page], grower: Person, grown: Frag
) -> None:
    for size in ((390, 844), (1280, 800)):
        page = page_at(*size)
        sign_in(page, Role.GROWER)
        page.goto(reverse("growth:growth", args=[grown.code_id]))
        assert_fits(page)
        assert_accessible(page)
        words = page.locator(".growth__picture--square .growth__word")
        assert words.count() == 3 + 2
        sizes = words.evaluate_all(
            """(all) => all.map((one) => parseFloat(getComputedStyle(one).fontSize)
                * one.ownerSVGElement.getScreenCTM().a)"""
        )
        assert min(sizes) >= WORD_PX
        assert_large_enough(page)


def test_a_photo_is_taken_out_by_a_thumb(live_page: Page, grower: Person, grown: Frag) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(reverse("growth:add_photo", args=[grown.code_id]))
    assert_large_enough(page)
    page.get_by_role("link", name="It shows something else").first.click()
    expect(page.get_by_role("heading", name="It shows something else")).to_be_visible()
    assert_fits(page)
    assert_large_enough(page)
