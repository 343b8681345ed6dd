"""The pages about labels in a browser, at a phone's and a desk's width, in taps."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.models import Code
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.actions.lost import mark_label_lost
from fraginv.labels.actions.printing import start_run
from fraginv.labels.actions.stocks import add_printer, add_stock
from fraginv.labels.models import LostLabel, OwnStock, Printer, RetiredRoll
from fraginv.labels.queries.runs import run_codes
from fraginv.labels.rules.measures import roll_measures
from tests.browsing import DESK, PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frags

pytestmark = pytest.mark.browser
BAG = roll_measures(width_um=80_000, height_um=50_000, gap_um=3_000)


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over, in either light."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        assert_accessible(page)
    for width, height in (DESK, PHONE):
        page.set_viewport_size({"width": width, "height": height})
        assert_fits(page)


def test_every_page_fits_and_is_accessible(live_page: Page, people: People) -> None:
    grower = people[Role.GROWER]
    frags = make_frags(grower, 2)
    start_run([frag.code_id for frag in frags], blank=3, by=grower)
    mark_label_lost([frags[0].code_id], by=grower)
    add_stock("bag-80x50", measures=BAG, form="bag", by=grower)
    printer = add_printer("Office", by=grower)
    roll = Code.objects.filter(kind="blank").latest("run").run
    sign_in(live_page, Role.GROWER)
    for path in (
        *("card", "lost", "rolls", f"rolls/{roll}", "runs", "runs/1", "stocks", "stocks/add"),
        *("stocks/bag-80x50", "stocks/a4-63.5x33.9", "printers/add", f"printers/{printer.pk}"),
    ):
        live_page.goto(f"/labels/{path}")
        judge(live_page)


def test_a_label_is_lost_with_one_tap_and_printed_with_three(
    live_page: Page, people: People
) -> None:
    (frag,) = make_frags(people[Role.GROWER], 1)
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{frag.code_id}")
    page.get_by_role("button", name="Label lost").click()
    expect(page.get_by_text("on the list of lost labels")).to_be_visible()
    expect(page).to_have_url(re.compile(rf"/T/{frag.code_id}$"))

    page.goto("/labels/")
    page.get_by_role("link", name="Lost labels: 1").click()
    page.get_by_role("link", name="Print it").click()
    expect(page.get_by_label("Codes")).to_have_value(show_code(frag.code_id))
    page.get_by_role("button", name="Make the labels").click()
    expect(page.get_by_role("link", name="Open the sheets")).to_be_visible()
    assert not LostLabel.objects.filter(settled_at__isnull=True).exists()


def test_a_sheet_is_asked_only_what_a_sheet_has(live_page: Page, people: People) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/labels/stocks/add")
    expect(page.get_by_label("Gap to the next label")).to_be_hidden()
    expect(page.get_by_label("Width of the sheet")).to_be_hidden()
    page.get_by_label("Size of the sheet").select_option("other")
    expect(page.get_by_label("Width of the sheet")).to_be_visible()
    page.get_by_text("A roll, one label after the other").click()
    expect(page.get_by_label("Gap to the next label")).to_be_visible()
    expect(page.get_by_label("Labels side by side")).to_be_hidden()
    expect(page.get_by_label("Width of the sheet")).to_be_hidden()
    judge(page)


def test_a_roll_is_drawn_then_kept(live_page: Page, people: People) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/labels/stocks/add")
    page.get_by_label("Name").fill("bag-80x50")
    page.get_by_text("A roll, one label after the other").click()
    page.get_by_label("For", exact=True).select_option("bag")
    page.get_by_label("Width of a label").fill("80")
    page.get_by_label("Height of a label").fill("50")
    page.get_by_role("button", name="Draw it first").click()
    expect(page.get_by_text("Not kept yet")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("One label"))).to_be_visible()
    judge(page)
    assert not OwnStock.objects.exists()
    page.get_by_role("button", name="Add it").click()
    page.wait_for_url(re.compile("/labels/stocks/bag-80x50$"))
    assert OwnStock.objects.get().page_height_um == 53_000


def test_a_printer_is_measured_with_four_numbers(live_page: Page, people: People) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/labels/printers/add")
    page.get_by_label("Name").fill("Office")
    page.get_by_role("button", name="Add it and measure it").click()
    expect(page.get_by_role("link", name="Check sheet")).to_be_visible()
    page.get_by_label("Length of the bar across").fill("96")
    page.get_by_role("button", name="Keep these measures").click()
    expect(page.get_by_role("alert")).to_contain_text("no “fit to page”")
    judge(page)
    for label, found in (
        ("Length of the bar across", "99.6"),
        ("Length of the bar down", "100.2"),
        ("left edge", "20.8"),
        ("top edge", "19.5"),
    ):
        page.get_by_label(label).fill(found)
    page.get_by_role("button", name="Keep these measures").click()
    expect(page.get_by_text("99.6 mm of 100 mm")).to_be_visible()
    assert Printer.objects.get().across_tenths == 996


def test_the_next_blank_label_leads_to_the_bench(live_page: Page, people: People) -> None:
    (code, *_) = run_codes(start_run((), blank=4, by=people[Role.GROWER]))
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/labels/rolls")
    page.get_by_role("link", name=show_code(code.pk)).click()
    expect(page.get_by_role("heading", name="Not in use yet")).to_be_visible()
    assert page.locator(f'main a[href*="first={code.pk}"]').count() == 1


def test_a_roll_is_thrown_away_after_a_last_question(live_page: Page, people: People) -> None:
    (code, *_) = run_codes(start_run((), blank=4, by=people[Role.GROWER]))
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/labels/rolls/{code.run}")
    page.get_by_role("button", name="Throw the rest away").click()
    dialog = page.get_by_role("dialog")
    expect(dialog).to_contain_text("Throw away the 4 blank labels")
    dialog.get_by_role("button", name="Go back").click()
    assert not RetiredRoll.objects.exists()
    page.get_by_role("button", name="Throw the rest away").click()
    dialog.get_by_role("button", name="Throw them away").click()
    expect(page.get_by_text("No blank labels on hand")).to_be_visible()
    judge(page)
