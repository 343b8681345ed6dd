"""Scanning with a phone: by hand, by a handheld scanner, one thing after another."""

from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

from fraginv.base.rules.codes import address, show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.models import LostLabel
from fraginv.stock.models import Frag, FragEvent, Loss
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frag, make_frags, make_lot, make_rack
from tests.front.scans import end_alike

pytestmark = pytest.mark.browser

# What a page says to ears and hand is written down instead.
EARS = """
window.heard = [];
navigator.vibrate = (buzz) => window.heard.push(["buzz", buzz.length]);
const start = OscillatorNode.prototype.start;
OscillatorNode.prototype.start = function (...at) {
  window.heard.push(["tone", this.frequency.value]);
  return start.apply(this, at);
};
"""


@pytest.fixture
def phone(live_page: Page, people: People) -> Page:
    """A grower's phone."""
    live_page.add_init_script(EARS)
    sign_in(live_page, Role.GROWER)
    return live_page


def judge(page: Page) -> None:
    assert_accessible(page)
    assert_fits(page)


def scan(page: Page, text: str) -> None:
    """Type quickly and press Enter, as a handheld scanner does, wherever the focus is."""
    page.keyboard.type(text)
    page.keyboard.press("Enter")


def said(page: Page) -> Locator:
    return page.locator("[data-scan-said]")


def done(page: Page) -> Locator:
    return page.locator("[data-scan-done-list] li")


def heard(page: Page) -> Any:
    """Return what was heard and felt since the last question."""
    return page.evaluate("window.heard.splice(0)")


def test_move_frags_rack_first(phone: Page, people: People) -> None:
    grower = people[Role.GROWER]
    rack, frags = make_rack(grower), make_frags(grower, 3)
    phone.goto("/scan")
    judge(phone)
    phone.get_by_role("link", name="Move here").click()
    judge(phone)
    scan(phone, frags[0].code_id)
    expect(said(phone)).to_contain_text("Scan the rack first, or choose it.")
    judge(phone)
    scan(phone, address("REEF.TEST", rack.code_id))
    expect(said(phone)).to_contain_text(str(rack))
    expect(phone.get_by_label("To this rack")).to_have_value(rack.code_id)
    for frag in frags[1:]:
        scan(phone, show_code(frag.code_id).lower())
        expect(said(phone)).to_contain_text(f"{show_code(frag.code_id)}: Stands in {rack} now")
    expect(done(phone)).to_have_count(2)
    judge(phone)
    assert set(Frag.objects.filter(rack=rack)) == set(frags[1:])
    expect(phone).to_have_url(f"{phone.url.split('/scan')[0]}/scan?do=move&rack={rack.code_id}")
    phone.reload()
    expect(phone.get_by_label("To this rack")).to_have_value(rack.code_id)


# Measured as the others are: signing in is left out. A handheld types by itself; by hand it is
# three characters and Enter for each label.
@pytest.mark.parametrize(("whole", "typed_by_hand"), [(True, 0), (False, 63)])
def test_twenty_frags_moved_with_two_taps(
    phone: Page, people: People, typed_by_hand: int, *, whole: bool
) -> None:
    grower = people[Role.GROWER]
    rack, frags = make_rack(grower), make_frags(grower, 20)
    phone.goto("/")
    taps, typed = 0, 0
    for name in ("Scan", "Move here"):
        phone.get_by_role("link", name=name, exact=True).filter(visible=True).click()
        expect(phone.locator("[data-scan-camera]")).to_be_visible()  # its scripts run
        taps += 1
    for code in (rack.code_id, *(frag.code_id for frag in frags)):
        text = code if whole else code[-3:]
        scan(phone, text)
        typed += 0 if whole else len(text)
    expect(done(phone)).to_have_count(20, timeout=30_000)
    assert Frag.objects.filter(rack=rack).count() == 20
    assert (taps, typed) == (2, typed_by_hand)


def test_look_then_move_here(phone: Page, people: People) -> None:
    grower = people[Role.GROWER]
    rack = make_rack(grower)
    frag = make_frag(grower, rack=rack, ready=True)
    phone.goto("/scan")
    scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text(frag.variety.name)
    expect(said(phone)).to_contain_text(f"Ready, size M, 1 piece; in {rack}.")
    expect(done(phone).first.get_by_role("link")).to_have_attribute("href", f"/T/{frag.code_id}")
    scan(phone, rack.code_id)
    done(phone).first.get_by_role("button", name="Move frags here").click()
    expect(phone.get_by_label("To this rack")).to_have_value(rack.code_id)
    expect(phone.get_by_role("button", name="Move it here")).to_be_visible()


def test_losses_with_a_cause_chosen_before_and_one_taken_back(phone: Page, people: People) -> None:
    first, second = make_frags(people[Role.GROWER], 2)
    phone.goto("/scan?do=lose")
    scan(phone, first.code_id)
    expect(said(phone)).to_contain_text("Choose the cause first, then scan.")
    phone.get_by_text("Brown jelly").click()
    judge(phone)
    # The tick has the focus; what is typed next is a code all the same.
    scan(phone, second.code_id)
    expect(said(phone)).to_contain_text("1 piece written off: Brown jelly.")
    # In sight while the camera is on, and again below beside each scan.
    said(phone).get_by_role("button", name="Take the loss back").click()
    expect(done(phone).last.get_by_role("button", name="Take the loss back")).to_be_disabled()
    expect(said(phone).get_by_role("button")).to_be_hidden()
    expect(said(phone)).to_contain_text("The loss was taken back.")
    judge(phone)
    assert [loss.undone for loss in Loss.objects.all()] == [True]
    assert Frag.objects.filter(pieces=1).count() == 2


def test_ready_seen_and_label_lost(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.goto("/scan")
    phone.get_by_role("link", name="Ready").click()
    phone.locator("label", has_text="Mini-colony").click()
    judge(phone)
    scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text("Ready, size Mini-colony.")
    phone.get_by_role("link", name="Seen, fine").click()
    scan(phone, frag.code_id[-3:])
    expect(said(phone)).to_contain_text("Seen, fine.")
    phone.get_by_role("link", name="Label lost").click()
    scan(phone, frag.code_id)
    expect(said(phone)).to_contain_text("Label lost: it waits on the list")
    done(phone).first.get_by_role("button", name="The label is there").click()
    expect(said(phone)).to_contain_text("no longer on the list")
    kinds = FragEvent.objects.filter(frag=frag).order_by("seq").values_list("kind", flat=True)
    assert list(kinds) == ["cut", "graded", "inspected"]
    assert not LostLabel.objects.filter(settled_at__isnull=True).exists()


def test_duplicates_within_three_seconds_count_once(phone: Page, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 9)
    phone.clock.install()
    phone.goto("/scan?do=lose&cause=fell")
    for _ in range(2):
        scan(phone, lot.code_id)
    expect(said(phone)).to_contain_text("Counted once")
    phone.clock.run_for(3100)
    scan(phone, lot.code_id)
    expect(done(phone)).to_have_count(2)
    assert Frag.objects.get(pk=lot.pk).pieces == 7


def test_several_that_end_alike_are_tapped_on(phone: Page, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 2)
    first, _ = end_alike(frags)
    phone.goto("/scan?do=seen")
    scan(phone, "9fn")
    expect(said(phone)).to_contain_text("9FN may mean more than one thing. Tap the right one.")
    judge(phone)
    phone.locator("[data-scan-choices] li").first.get_by_role("button").click()
    expect(done(phone).first).to_contain_text(show_code(first))
    expect(phone.locator("[data-scan-choices]")).to_be_hidden()
    expect(phone.locator("[data-scan-settle]")).to_be_hidden()


def test_it_beeps_and_buzzes(phone: Page, people: People) -> None:
    rack, frag = make_rack(people[Role.GROWER]), make_frag(people[Role.GROWER])
    phone.goto("/scan?do=move")
    phone.get_by_label("Code, or its last three").click()
    scan(phone, rack.code_id)
    assert heard(phone) == [["buzz", 3], ["tone", 880], ["tone", 1320]]
    scan(phone, frag.code_id)
    assert heard(phone) == [["buzz", 1], ["tone", 1320]]
    scan(phone, "nonsense")
    expect(said(phone)).to_contain_text("A code has 7 characters")
    assert heard(phone) == [["buzz", 1], ["tone", 1320], ["buzz", 3], ["tone", 220], ["tone", 180]]


def test_the_handheld_writes_over_what_was_wrong(phone: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    phone.goto("/scan?do=ready")
    phone.get_by_label("Code, or its last three").fill(frag.code_id)
    phone.keyboard.press("Enter")
    expect(said(phone)).to_contain_text("Choose the size first")
    expect(phone.get_by_label("Code, or its last three")).to_have_value(frag.code_id)
    phone.locator("label", has_text="Mini-colony").click()
    scan(phone, "ZZZ")
    expect(said(phone)).to_contain_text("Nothing that lives here ends in ZZZ.")


def test_a_seller_sees_what_a_seller_may(live_page: Page, people: People) -> None:
    sign_in(live_page, Role.SELLER)
    live_page.get_by_role("link", name="Scan").first.click()
    judge(live_page)
    acts = live_page.locator("[data-scan-act]").all_inner_texts()
    assert [act.strip() for act in acts] == ["Look", "Label lost"]


def test_at_a_desk(desk_page: Page, people: People) -> None:
    sign_in(desk_page, Role.GROWER)
    desk_page.goto("/scan?do=lose")
    judge(desk_page)


def test_without_scripts(live_page: Page, people: People) -> None:
    frag = make_frag(people[Role.GROWER])
    sign_in(live_page, Role.GROWER)
    cookies = live_page.context.cookies()
    browser = live_page.context.browser
    assert browser is not None
    plain = browser.new_context(java_script_enabled=False, base_url=live_page.url)
    try:
        plain.add_cookies(cookies)  # type: ignore[arg-type] # what one gives the other takes
        page = plain.new_page()
        page.goto("/scan")
        page.get_by_role("link", name="Seen, fine").click()
        page.get_by_label("Code, or its last three").fill(frag.code_id)
        page.get_by_role("button", name="Seen, fine").click()
        expect(page.locator(".messages")).to_contain_text("Seen, fine.")
        page.get_by_role("link", name="Look").click()
        page.get_by_label("Code, or its last three").fill(frag.code_id)
        page.get_by_role("button", name="Look it up").click()
        expect(page.get_by_role("heading", name=frag.variety.name)).to_be_visible()
    finally:
        plain.close()
    assert FragEvent.objects.filter(frag=frag, kind="inspected").count() == 1
