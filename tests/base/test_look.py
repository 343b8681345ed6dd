"""Every component in a real browser: fits, can be read, reached and worked by thumb or keys."""

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.base.specimen import serve, specimen
from tests.browsing import DESK, PHONE, THEMES, assert_accessible, assert_fits

Opener = Callable[..., Page]
MORE = ".nav-bar__more > summary"
# Links inside running text are as high as their line; WCAG 2.2, 2.5.8 leaves those out.
SMALL = """() => [...document.querySelectorAll(
  'button, .button, .control, .nav-bar__link, .nav-side__link, .choice, .list__choose, .trail,' +
  '.find__input, .table a, .nav-group__title'
)].filter(e => e.checkVisibility({ visibilityProperty: true }))
  .filter(e => { const r = e.getBoundingClientRect(); return r.height < 44 || r.width < 44 })
  .map(e => e.outerHTML.slice(0, 80))"""


@pytest.fixture
def sent() -> list[str]:
    """What forms of the page have sent."""
    return []


@pytest.fixture
def opened(browser: Browser, sent: list[str]) -> Iterator[Opener]:
    """Open the specimen in a context of its own; errors of its scripts fail the test."""
    contexts = []
    errors: list[str] = []

    def open_page(layout: str = "staff", size: tuple[int, int] = PHONE, **options: object) -> Page:
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            reduced_motion="reduce",
            **options,  # type: ignore[arg-type]
        )
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        serve(page, specimen(f"base/layout_{layout}.html"), sent=sent)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not errors


@pytest.mark.parametrize(
    ("layout", "size"),
    [
        pytest.param("staff", PHONE, id="staff, phone"),
        pytest.param("staff", DESK, id="staff, desk"),
        pytest.param("staff", (320, 640), id="staff, small"),
        pytest.param("either", PHONE, id="either, phone"),
        pytest.param("public", PHONE, id="public, phone"),
        pytest.param("public", DESK, id="public, desk"),
        pytest.param("narrow", PHONE, id="narrow, phone"),
    ],
)
def test_pages_fit_and_can_be_read(opened: Opener, layout: str, size: tuple[int, int]) -> None:
    """Width 320 is where WCAG 2.2, 1.4.10 (Reflow) measures."""
    page = opened(layout, size)
    for theme in THEMES:
        page.emulate_media(color_scheme=theme)
        assert_fits(page)
        assert_accessible(page)


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_targets_are_as_large_as_a_thumb(opened: Opener, size: tuple[int, int]) -> None:
    """44 px as in WCAG 2.2, 2.5.5."""
    page = opened(size=size)
    assert page.evaluate(SMALL) == []
    page.add_style_tag(content=".button--danger { min-block-size: 20px; padding: 0 }")
    assert len(page.evaluate(SMALL)) == 1


# How many things of a kind hold something that is wider than they are.
SPILLS = """name => [...document.querySelectorAll(name)]
  .filter(e => e.scrollWidth > e.clientWidth).length"""
# Words that a browser has set on two lines.
BROKEN = r"""() => [...document.querySelectorAll('.list__link, .figure__value, .code')]
  .flatMap(e => {
  const node = document.createTreeWalker(e, NodeFilter.SHOW_TEXT).nextNode()
  return [...node.data.matchAll(/\S+/g)].filter(word => {
    const range = document.createRange()
    range.setStart(node, word.index); range.setEnd(node, word.index + word[0].length)
    return new Set([...range.getClientRects()].map(r => Math.round(r.top))).size > 1
  }).map(word => word[0])})"""


@pytest.mark.parametrize("width", [320, 390])
def test_no_word_amount_or_code_is_broken(opened: Opener, width: int) -> None:
    page = opened(size=(width, 844))
    assert page.evaluate(BROKEN) == []
    assert [page.evaluate(f"({SPILLS})('{name}')") for name in (".figure", ".list__row")] == [0, 0]
    page.add_style_tag(content=".figure__value { white-space: normal; inline-size: 4ch }")
    assert "$12,345.60" in page.evaluate(BROKEN)


def test_a_code_is_as_wide_as_its_letters(opened: Opener) -> None:
    box = opened().locator(".stack > .code").bounding_box()
    assert box is not None
    assert box["width"] < PHONE[0] / 2


def test_the_chosen_chip_is_in_sight(opened: Opener) -> None:
    chip = opened().locator(".choice[aria-current]")
    box = chip.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= PHONE[0]


def test_the_bars_leave_most_of_a_phone_to_the_page(opened: Opener) -> None:
    page = opened()
    heights = [
        page.locator(name).evaluate("e => e.getBoundingClientRect().height")
        for name in (".bar", ".nav-bar")
    ]
    assert sum(heights) <= PHONE[1] * 0.15


def test_the_bar_lies_under_the_thumb_on_phones_alone(opened: Opener) -> None:
    phone, desk = opened(), opened(size=DESK)
    bar = phone.locator(".nav-bar")
    box = bar.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] == PHONE[1]
    assert bar.locator(".nav-bar__place").count() == 5
    expect(phone.locator(".nav-side").first).to_be_hidden()
    expect(desk.locator(".nav-bar")).to_be_hidden()
    expect(desk.locator(".nav-side")).to_be_visible()


def test_more_opens_the_rest_and_closes_beside(opened: Opener) -> None:
    page = opened()
    page.locator(MORE).click()
    month = page.locator(".nav-bar").get_by_text("Month")
    expect(month).to_be_hidden()
    page.locator(".nav-bar").get_by_text("Money").click()
    expect(month).to_be_visible()
    page.keyboard.press("Escape")
    expect(month).to_be_hidden()
    page.locator(MORE).click()
    page.get_by_role("heading", level=1).click()
    expect(month).to_be_hidden()


def test_groups_fold_one_at_a_time_and_a_group_of_one_is_that_one(opened: Opener) -> None:
    side = opened(size=DESK).locator(".nav-side")
    rounds, month = side.get_by_text("Rounds"), side.get_by_text("Month")
    expect(rounds).to_be_visible()
    expect(month).to_be_hidden()
    side.get_by_text("Money").focus()
    side.page.keyboard.press("Enter")
    expect(month).to_be_visible()
    expect(rounds).to_be_hidden()
    expect(side.get_by_role("link", name="Upkeep")).to_be_visible()
    expect(side.get_by_text("Settings")).to_have_count(0)
    expect(side.get_by_role("list", name="Money").get_by_role("listitem")).to_have_count(2)


def test_who_is_signed_in_folds_out_at_a_desk(opened: Opener) -> None:
    page = opened(size=DESK)
    way_out = page.locator(".nav-side").get_by_role("button", name="Sign out")
    expect(way_out).to_be_hidden()
    page.locator(".nav-side__foot > summary").click()
    expect(way_out).to_be_visible()
    assert page.evaluate(SMALL) == []
    assert_accessible(page)
    page.keyboard.press("Escape")
    expect(way_out).to_be_hidden()


def test_the_first_tab_leads_past_the_navigation(opened: Opener) -> None:
    page = opened()
    page.keyboard.press("Tab")
    expect(page.get_by_text("Skip to content")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_focus_is_drawn(opened: Opener) -> None:
    page = opened(size=DESK)
    page.locator(".find__input").focus()
    page.keyboard.press("Tab")
    width = page.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert width == "3px"


def test_a_theme_that_is_chosen_stays(opened: Opener) -> None:
    page = opened("public", color_scheme="light")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    light = page.evaluate(ground)
    page.get_by_role("button", name="Dark").click()
    dark = page.evaluate(ground)
    assert dark != light
    page.reload()
    assert page.evaluate(ground) == dark
    page.get_by_role("button", name="As the device says").click()
    assert page.evaluate(ground) == light


def test_steps_stay_between_least_and_most(opened: Opener) -> None:
    page = opened()
    pieces = page.locator("#id_pieces")
    more, less = (page.get_by_role("button", name=f"One {way}") for way in ("more", "less"))
    for _ in range(5):
        more.click()
    expect(pieces).to_have_value("3")
    for _ in range(5):
        less.click()
    expect(pieces).to_have_value("1")
    pieces.fill("")
    more.click()
    expect(pieces).to_have_value("1")


def test_a_form_is_sent_once(opened: Opener, sent: list[str]) -> None:
    page = opened()
    page.locator("#id_pieces").fill("2")
    button = page.locator("#cut [type=submit]")
    button.dblclick()
    expect(button).to_have_text("Cutting…")
    button.click()
    page.wait_for_timeout(200)
    assert len(sent) == 1


def test_chosen_rows_are_counted(opened: Opener, sent: list[str]) -> None:
    page = opened()
    count, grade = page.locator("[data-choose-count]"), page.get_by_role("button", name="Grade")
    expect(count).to_have_text("Nothing chosen")
    expect(grade).to_be_disabled()
    page.get_by_label("7K3Q9F2").check()
    expect(count).to_have_text("1 frag")
    page.get_by_label("All").check()
    expect(count).to_have_text("2 frags")
    grade.click()
    page.wait_for_timeout(200)
    assert sent == ["frag=7K3Q9F2&frag=4M8T2WC"]


def test_a_last_question_can_be_answered_no(opened: Opener, sent: list[str]) -> None:
    page = opened()
    lose = page.locator("#lose [type=submit]")
    lose.click()
    expect(page.get_by_role("dialog", name="Write off 3 pieces?")).to_be_visible()
    page.get_by_role("button", name="Go back").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert sent == []
    lose.click()
    page.get_by_role("button", name="Write off").click()
    page.wait_for_timeout(200)
    assert len(sent) == 1


def test_pages_work_without_scripts(opened: Opener, sent: list[str]) -> None:
    page = opened(java_script_enabled=False)
    expect(page.get_by_role("button", name="One more")).to_have_count(0)
    page.locator("#id_pieces").fill("2")
    page.get_by_label("7K3Q9F2").check()
    page.get_by_role("button", name="Grade").click()
    page.locator("#lose [type=submit]").click()
    page.locator(MORE).click()
    page.locator(".nav-bar").get_by_text("Money").click()
    expect(page.locator(".nav-bar").get_by_text("Month")).to_be_visible()
    assert sent == ["frag=7K3Q9F2", ""]


def test_forced_colours_keep_edges(opened: Opener) -> None:
    page = opened(forced_colors="active")
    edge = "getComputedStyle(document.querySelector('.tag')).borderTopColor"
    assert page.evaluate(edge) != "rgba(0, 0, 0, 0)"
