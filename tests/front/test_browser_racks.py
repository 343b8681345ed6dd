"""Walking past the racks with a phone: every tap and every typed character is counted."""

import re
from dataclasses import dataclass

import pytest
from playwright.sync_api import Locator, Page, expect

from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.actions import looks, moving
from fraginv.stock.models import Frag, Rack, RackCount, RackEvent
from fraginv.stock.queries.differences import stock_differences
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_lot, make_rack

pytestmark = pytest.mark.browser


@dataclass
class Hand:
    """A thumb that counts what it does."""

    page: Page
    taps: int = 0
    typed: int = 0

    def tap(self, where: Locator) -> None:
        """Tap something."""
        where.click()
        self.taps += 1

    def button(self, name: str, *, exact: bool = True) -> None:
        """Tap the button of a name."""
        self.tap(self.page.get_by_role("button", name=name, exact=exact).first)

    def link(self, name: str) -> None:
        """Tap the link of a name."""
        self.tap(self.page.get_by_role("link", name=name, exact=True).first)

    def type(self, text: str) -> None:
        """Type into whatever has the focus."""
        self.page.keyboard.type(text)
        self.typed += len(text)


@pytest.fixture
def grower(people: People) -> Person:
    return people[Role.GROWER]


@pytest.fixture
def hand(live_page: Page, grower: Person) -> Hand:
    sign_in(live_page, Role.GROWER)
    return Hand(live_page)


def filled_rack(by: Person, count: int, **more: object) -> tuple[Rack, list[Frag]]:
    """Make a rack with so many frags in its first holes."""
    rack = make_rack(by, **more)
    frags = make_frags(by, count, colony=make_colony(by)) if count else []
    if frags:
        moving.fill_holes([frag.pk for frag in frags], rack=rack, by=by)
    return rack, frags


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def arrived(page: Page, path: str) -> None:
    page.wait_for_url(re.compile(path))
    page.wait_for_load_state()


def test_a_round_of_four_racks_with_two_problems(hand: Hand, grower: Person) -> None:
    page = hand.page
    racks = [filled_rack(grower, 6, name=f"rack {name}") for name in "ABCD"]
    page.goto("/")
    hand.link("Rounds")
    arrived(page, "/rounds$")
    judge(page)
    for name, trouble in [("A", ""), ("B", "Brown jelly"), ("C", ""), ("D", "Algae")]:
        if trouble:
            hand.tap(page.get_by_role("link", name=f"rack {name}", exact=True))
            arrived(page, "/T/")
            hand.tap(page.locator(".rack a.rack__hole--healing").nth(2))
            page.get_by_role("dialog").wait_for()
            hand.button(trouble)
            expect(page.locator("main").get_by_role("status").first).to_contain_text(
                "It is written down"
            )
            hand.button("Seen, fine")
        else:
            hand.button(f"Seen, fine: rack {name}")
        expect(page.locator("main").get_by_role("status").first).to_contain_text("seen, fine")
        arrived(page, "/rounds")
    assert (hand.taps, hand.typed) == (11, 0)
    assert RackEvent.objects.filter(kind="seen").count() == 4
    assert sorted(Frag.objects.exclude(wrong="").values_list("wrong", flat=True)) == [
        "algae",
        "brown jelly",
    ]
    assert {frag.rack_id for frag in Frag.objects.exclude(wrong="")} == {
        racks[1][0].pk,
        racks[3][0].pk,
    }


def test_moving_twenty_frags_by_a_list(hand: Hand, grower: Person) -> None:
    page = hand.page
    source, _ = filled_rack(grower, 20, name="Old rack")
    target = make_rack(grower, name="Sun rack")
    page.goto(f"/T/{source.code_id}")
    hand.link("More")
    hand.link("Empty it")
    page.get_by_label("Into this rack").select_option(str(target.pk))
    hand.taps += 2  # a list opens at the first tap and is chosen from at the second
    judge(page)
    hand.button("Move all of it")
    arrived(page, f"/T/{target.code_id}")
    assert (hand.taps, hand.typed) == (5, 0)
    assert Frag.objects.filter(rack=target, hole_row__isnull=False).count() == 20


def test_moving_twenty_frags_by_their_last_characters(hand: Hand, grower: Person) -> None:
    page = hand.page
    frags = make_frags(grower, 20, colony=make_colony(grower))
    target = make_rack(grower, name="Sun rack")
    ends = [frag.code_id[-3:] for frag in frags]
    texts = [
        end if ends.count(end) == 1 else frag.code_id for end, frag in zip(ends, frags, strict=True)
    ]
    page.goto(f"/T/{target.code_id}")
    hand.link("Bring frags here")
    arrived(page, "/bring$")
    judge(page)
    hand.type(" ".join(texts).lower())
    hand.button("Move here")
    expect(page.locator("main").get_by_role("status").first).to_contain_text(
        "20 frags moved to A, Sun rack"
    )
    assert hand.taps == 2
    assert hand.typed <= 20 * 3 + 19 + 4 * sum(ends.count(end) > 1 for end in ends)
    assert Frag.objects.filter(rack=target, hole_row__isnull=False).count() == 20


def test_a_handheld_scanner_moves_one_after_another(hand: Hand, grower: Person) -> None:
    page = hand.page
    frags = make_frags(grower, 3, colony=make_colony(grower))
    target = make_rack(grower)
    page.goto(f"/racks/{target.code_id}/bring")
    for frag in frags:
        expect(page.get_by_role("textbox", name="Codes, or their")).to_be_focused()
        page.keyboard.type(frag.code_id)
        page.keyboard.press("Enter")
        expect(page.locator("main").get_by_role("status").first).to_contain_text(frag.code_id[:3])
    assert hand.taps == 0
    columns = [Frag.objects.get(pk=frag.pk).hole_column for frag in frags]
    assert columns == [1, 2, 3]


def test_counting_a_rack_of_forty(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, frags = filled_rack(grower, 40, rows=5, columns=8)
    page.goto(f"/T/{rack.code_id}")
    hand.link("Count")
    arrived(page, "/count$")
    judge(page)
    hand.link("Tick all, then untick what is missing")
    arrived(page, "mark=all")
    for frag in (frags[3], frags[20]):
        hand.tap(page.locator(f"[data-code='{frag.code_id}']"))
    expect(page.get_by_text("38 pieces are there")).to_be_visible()
    hand.button("Compare")
    arrived(page, "/settle$")
    judge(page)
    hand.button("Settle and finish")
    arrived(page, f"/T/{rack.code_id}")
    assert (hand.taps, hand.typed) == (6, 0)
    told = RackEvent.objects.get().body
    assert told == {"expected": 40, "found": 38, "settled": {"still looked for": 2}}
    assert [str(one) for one in stock_differences()] == []


@pytest.mark.parametrize("columns", [4, 10, 12])
def test_each_tick_of_a_count_is_as_large_as_a_thumb(
    hand: Hand, grower: Person, columns: int
) -> None:
    """44 px as in WCAG 2.2, 2.5.5; the whole hole is the target, not its box alone."""
    page = hand.page
    rack, frags = filled_rack(grower, 13, rows=6, columns=columns)
    moving.move_frag(make_frags(grower)[0].pk, rack=rack, by=grower)
    page.goto(f"/racks/{rack.code_id}/count")
    judge(page)
    ticks = page.locator(".rack__tick")
    expect(ticks).to_have_count(14)
    boxes = [tick.bounding_box() or {"width": 0, "height": 0} for tick in ticks.all()]
    assert all(min(box["width"], box["height"]) >= 44 for box in boxes), boxes
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        ticks.first.click(position={"x": 3, "y": 41})
    expect(page.locator(f"[data-code='{frags[0].code_id}']")).to_be_checked()


def test_what_is_typed_is_ticked_and_kept_on_the_way(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, frags = filled_rack(grower, 3)
    page.goto(f"/racks/{rack.code_id}/count")
    field = page.get_by_label("Scan or type what is there")
    field.focus()
    page.keyboard.type(frags[1].code_id.lower())
    page.keyboard.press("Enter")
    expect(page.get_by_text(f"{frags[1].code_id} is there")).to_be_visible()
    with page.expect_response(lambda answer: answer.request.method == "POST"):
        page.locator(f"[data-code='{frags[2].code_id}']").click()
    assert RackCount.objects.get().there == {
        str(frags[0].pk): 0,
        str(frags[1].pk): 1,
        str(frags[2].pk): 1,
    }
    page.reload()
    expect(page.locator(f"[data-code='{frags[1].code_id}']")).to_be_checked()


def test_the_drawn_rack_by_keyboard(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, frags = filled_rack(grower, 2)
    looks.mark_wrong([frags[1].pk], wrong="rtn", by=grower)
    page.goto(f"/T/{rack.code_id}")
    judge(page)
    holes = page.locator(".rack .rack__hole")
    assert page.locator(".rack .rack__hole[tabindex='0']").count() == 1
    holes.first.focus()
    page.keyboard.press("ArrowRight")
    expect(holes.nth(1)).to_be_focused()
    expect(holes.nth(1)).to_have_accessible_name(re.compile("row 1, hole 2.*not well"))
    page.keyboard.press("ArrowDown")
    expect(holes.nth(11)).to_be_focused()
    page.keyboard.press("End")
    expect(holes.nth(19)).to_be_focused()
    page.keyboard.press("Home")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    sheet = page.get_by_role("dialog")
    expect(sheet).to_contain_text("What is wrong with it?")
    judge(page)
    page.keyboard.press("Escape")
    expect(sheet).to_be_hidden()
    expect(holes.first).to_be_focused()


def test_an_empty_hole_takes_what_is_named(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, frags = filled_rack(grower, 2)
    lot = make_lot(grower, 5)
    moving.move_frag(lot.pk, rack=rack, by=grower)
    page.goto(f"/T/{rack.code_id}")
    hand.tap(page.get_by_role("link", name="row 3, hole 4, empty"))
    page.get_by_role("dialog").wait_for()
    judge(page)
    hand.tap(page.get_by_role("button", name=re.compile(lot.code_id[-3:])))
    expect(
        page.get_by_role("link", name=re.compile(f"{lot.code_id[-3:]}, row 3, hole 4"))
    ).to_be_visible()
    assert hand.taps == 2
    page.goto(f"/racks/{rack.code_id}/holes/2/1")
    moving.move_frag(frags[0].pk, rack=rack, row=2, column=1, by=grower)
    page.get_by_label("Code, or its last three characters").fill(lot.code_id)
    page.get_by_role("button", name="Put it here").click()
    expect(page.get_by_role("alert")).to_contain_text("stands in row 2, hole 1 already")
    judge(page)
    page.get_by_role("button", name="They change places").click()
    expect(
        page.get_by_role("link", name=re.compile(f"{lot.code_id[-3:]}, row 2, hole 1"))
    ).to_be_visible()
    assert Frag.objects.get(pk=frags[0].pk).hole_row == 3


def test_a_wide_rack_is_moved_past_its_window(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, _ = filled_rack(grower, 3, rows=40, columns=40)
    page.goto(f"/T/{rack.code_id}")
    judge(page)
    box = page.locator(".rack a.rack__hole").first.bounding_box()
    assert box is not None
    assert box["width"] >= 43.5
    assert box["height"] >= 43.5
    page.locator("[data-rack-map]").scroll_into_view_if_needed()
    area = page.locator("[data-rack-map]").bounding_box()
    assert area is not None
    page.mouse.click(area["x"] + area["width"] * 0.9, area["y"] + area["height"] * 0.1)
    expect(page.get_by_role("link", name="row 4, hole 36, empty")).to_be_in_viewport()


def test_pages_without_a_script_lead_on(hand: Hand, grower: Person) -> None:
    page = hand.page
    rack, frags = filled_rack(grower, 1)
    for path in (
        f"/racks/{rack.code_id}/frags/{frags[0].code_id}",
        f"/racks/{rack.code_id}/holes/1/2",
        f"/racks/{rack.code_id}/more",
        f"/troughs/{rack.trough_id}",
        f"/systems/{rack.trough.system_id}",
        f"/T/{rack.code_id}?show=list",
    ):
        page.goto(path)
        judge(page)
