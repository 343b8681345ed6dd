"""Changes of a frag on a phone: each a tap or two from its page, counted; grading from a list."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.actions.codes import issue_blank_run
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.actions.grading import mark_healed
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.actions.varieties import set_pace
from fraginv.stock.models import Colony, Frag
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.factories import make_colony, make_frag, make_frags, make_lot, make_rack, make_variety
from tests.front.test_browser_bench import Thumb

pytestmark = pytest.mark.browser


@pytest.fixture
def colony(grower: Person) -> Colony:
    variety = make_variety(grower, name="Pier Moss", genus="Zoanthus", note="Slow")
    return make_colony(grower, variety=variety)


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def open_more(page: Page, frag: Frag, *, thumb: Thumb) -> None:
    """Open a frag's page and what is folded away on it."""
    page.goto(f"/T/{frag.code_id}")
    thumb.tap(page.get_by_role("main").locator("summary", has_text="More"))


def test_a_piece_leaves_its_lot(live_page: Page, grower: Person, colony: Colony) -> None:
    lot, page, thumb = make_lot(grower, 12, colony=colony), live_page, Thumb()
    sign_in(page, Role.GROWER)
    open_more(page, lot, thumb=thumb)
    judge(page)
    thumb.tap(page.get_by_role("link", name="Split off"))
    judge(page)
    thumb.tap(page.get_by_role("button", name="Split off"))
    expect(page.get_by_text("1 piece has left the lot")).to_be_visible()
    expect(page.get_by_text(f"Taken from {show_code(lot.code_id)}: 1 piece")).to_be_visible()
    assert (thumb.taps, thumb.typed) == (3, 0)
    judge(page)
    thumb = Thumb()
    open_more(page, lot, thumb=thumb)
    thumb.tap(page.get_by_role("link", name="Count the lot"))
    judge(page)
    thumb.tap(page.get_by_role("button", name="One less"))
    page.get_by_label("If some are gone, why").select_option("Fell")
    thumb.tap(page.get_by_role("button", name="Save"))
    expect(page.get_by_text("1 piece written off as lost")).to_be_visible()
    assert thumb.taps == 4
    assert Frag.objects.get(pk=lot.pk).pieces == 10


def test_one_is_cut_again_and_two_grow_together(
    live_page: Page, grower: Person, colony: Colony
) -> None:
    frag, other = make_frags(grower, 2, colony=colony)
    rack, page, thumb = make_rack(grower), live_page, Thumb()
    for column, each in enumerate((frag, other), start=1):
        place_frags([each.pk], rack=rack, row=1, column=column, by=grower)
    sign_in(page, Role.GROWER)
    open_more(page, frag, thumb=thumb)
    judge(page)
    thumb.tap(page.get_by_role("link", name="Cut again"))
    expect(page.get_by_text("get urgent medical care")).to_be_visible()
    judge(page)
    thumb.tap(page.get_by_role("button", name="Record the cut"))
    expect(page.get_by_text("Cut again, all heal anew")).to_be_visible()
    assert (thumb.taps, Frag.objects.count()) == (3, 3)

    thumb = Thumb()
    open_more(page, frag, thumb=thumb)
    thumb.tap(page.get_by_role("link", name="Grown together"))
    judge(page)
    thumb.tap(page.get_by_text(f"{show_code(other.code_id)}, 1/2"))
    thumb.tap(page.get_by_role("button", name="They are one now"))
    thumb.tap(page.get_by_role("dialog").get_by_role("button", name="They are one now"))
    expect(page.get_by_text(f"{show_code(other.code_id)} is one with it now")).to_be_visible()
    assert (thumb.taps, thumb.typed) == (5, 0)
    page.goto(f"/T/{other.code_id}")
    expect(page.locator(".tag--joined")).to_be_visible()
    judge(page)


def test_a_new_label_a_dip_and_a_mount(live_page: Page, grower: Person, colony: Colony) -> None:
    frag, (label,) = make_frag(grower, colony=colony), issue_blank_run(1)
    page, thumb = live_page, Thumb()
    sign_in(page, Role.GROWER)
    open_more(page, frag, thumb=thumb)
    thumb.tap(page.get_by_role("link", name="New label"))
    judge(page)
    thumb.write(page.get_by_label("Blank label"), label.code.lower())
    thumb.tap(page.get_by_role("button", name="Use this label"))
    page.wait_for_url(re.compile(rf"/T/{label.code}$"))
    assert (thumb.taps, thumb.typed) == (4, 7)
    page.goto(f"/T/{frag.code_id}")
    page.wait_for_url(re.compile(rf"/T/{label.code}$"))
    now = Frag.objects.get(pk=frag.pk)

    open_more(page, now, thumb=thumb)
    page.get_by_role("link", name="Dip", exact=True).click()
    judge(page)
    page.get_by_label("Dipped in").fill("iodine")
    page.get_by_label("Next dip").fill((today() + timedelta(days=7)).isoformat())
    page.get_by_role("button", name="Dipped").click()
    expect(page.get_by_text("1 frag dipped in iodine.")).to_be_visible()

    open_more(page, now, thumb=thumb)
    page.get_by_role("link", name="New mount").click()
    judge(page)
    page.get_by_text("Tile", exact=True).click()
    page.get_by_role("button", name="Mounted anew").click()
    expect(page.get_by_text("1 frag on a tile now.")).to_be_visible()


def test_one_is_given_to_a_school(live_page: Page, grower: Person, colony: Colony) -> None:
    frag, page, thumb = make_frag(grower, colony=colony), live_page, Thumb()
    sign_in(page, Role.GROWER)
    open_more(page, frag, thumb=thumb)
    thumb.tap(page.get_by_role("link", name="Give away"))
    judge(page)
    thumb.tap(page.get_by_text("School", exact=True))
    thumb.tap(page.get_by_role("button", name="Give away"))
    expect(page.locator(".tag--given")).to_be_visible()
    assert (thumb.taps, thumb.typed) == (4, 0)
    judge(page)


def test_what_was_lost_is_found_in_two_taps(
    live_page: Page, grower: Person, colony: Colony
) -> None:
    frag, page, thumb = make_frag(grower, colony=colony), live_page, Thumb()
    record_loss(frag.pk, pieces=1, cause="fell", by=grower)
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{frag.code_id}")
    thumb.tap(page.get_by_role("link", name="Found again"))
    judge(page)
    thumb.tap(page.get_by_role("button", name="Found again"))
    expect(page.get_by_text("1 piece found again.")).to_be_visible()
    assert thumb.taps == 2


def test_what_is_likely_ready_is_graded_by_taps(
    live_page: Page, grower: Person, colony: Colony
) -> None:
    day, rack = today() - timedelta(days=70), make_rack(grower)
    frags = make_frags(grower, 4, colony=colony, day=day)
    mark_healed([frag.pk for frag in frags], by=grower)
    place_frags([frag.pk for frag in frags], rack=rack, by=grower)
    set_pace(colony.variety_id, ready_days=60, ready_size="M", ready_heads=3, by=grower)
    page, thumb = live_page, Thumb()
    sign_in(page, Role.GROWER)
    page.get_by_role("link", name="Grade", exact=True).click()
    judge(page)
    code = show_code(frags[0].code_id)
    thumb.tap(page.get_by_role("button", name=f"{code} is ready, size S", exact=True))
    expect(page.get_by_text(f"{code} graded ready, size S.")).to_be_visible()
    expect(page.get_by_text("Pier Moss from size M or 3 heads")).to_be_visible()
    assert thumb.taps == 1
    judge(page)
    page.get_by_role("link", name=rack.name).first.click()
    expect(page.get_by_role("heading", name=f"Likely ready: {rack}")).to_be_visible()
    thumb.tap(page.get_by_text("All on this page"))
    judge(page)
    thumb.tap(page.get_by_role("button", name="All of them size L"))
    expect(page.get_by_text("3 frags graded ready, size L.")).to_be_visible()
    expect(page.get_by_text("Nothing is likely ready")).to_be_visible()
    assert thumb.taps == 3
    judge(page)


def test_a_variety_and_its_rule(live_page: Page, grower: Person, colony: Colony) -> None:
    frag, page = make_frag(grower, colony=colony), live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{frag.code_id}")
    page.get_by_role("link", name="Zoanthus sp.").click()
    judge(page)
    page.get_by_role("link", name="Change the rule").click()
    judge(page)
    page.get_by_label("Least days from cutting until ready").fill("21")
    page.get_by_text("M", exact=True).click()
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("after 21 days from cutting")).to_be_visible()
    assert Frag.objects.get().likely_on == today() + timedelta(days=21)
    page.get_by_role("link", name="Change", exact=True).click()
    judge(page)
    page.get_by_label("Trade name").fill("Quay Fern")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Quay Fern")).to_be_visible()
