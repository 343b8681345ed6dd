"""Colonies on a phone: papers, bars, leaving, keeping and receiving."""

import re

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.roles import Role
from fraginv.stock.models import Arrival, Colony, Frag
from tests.base.test_documents import make_pdf
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_colony, make_frag, make_rack, make_variety

pytestmark = pytest.mark.browser


def judge(page: Page) -> None:
    """Fail for what a reader of screens or a narrow phone would stumble over."""
    assert_accessible(page)
    assert_fits(page)


@pytest.fixture
def colony(people: People) -> Colony:
    """A listed coral that was bought, and of which no paper is here."""
    grower = people[Role.GROWER]
    variety = make_variety(grower, name="Quay Lantern", species="millepora")
    return make_colony(grower, variety=variety, origin="bought", rack=make_rack(grower))


def test_a_missing_paper_is_found_and_filed(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/colonies")
    judge(page)
    page.get_by_role("link", name="Narrow").click()
    judge(page)
    page.get_by_label("Paper").select_option("missing")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("link", name="Take off: no paper of its origin")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Quay Lantern").click()
    expect(page.get_by_text("No paper of its origin")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Add a paper").first.click()
    judge(page)
    page.get_by_label("Paper").set_input_files(
        {"name": "scan.pdf", "mimeType": "application/pdf", "buffer": make_pdf()}
    )
    page.get_by_label("What it is").fill("invoice")
    page.get_by_role("button", name="File the paper").click()
    expect(page.get_by_text("No paper of its origin")).to_have_count(0)
    with page.expect_download() as saved:
        page.get_by_role("link", name="invoice").click()
    assert saved.value.suggested_filename.endswith(".pdf")
    judge(page)


def test_a_bar_is_set_and_lifted_and_terms_are_changed(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.OWNER)
    page.goto(f"/T/{colony.code_id}")
    page.get_by_text("Bar it, or it leaves").click()
    judge(page)
    page.get_by_role("link", name="Bar it").click()
    judge(page)
    page.get_by_text("On loan", exact=True).click()
    page.get_by_label("Reason").fill("until their new hall opens")
    page.get_by_role("button", name="Bar it").click()
    expect(page.get_by_text("Barred: On loan")).to_be_visible()
    expect(page.get_by_role("link", name="Cut", exact=True)).to_have_count(0)
    judge(page)
    page.get_by_role("link", name="Lift the bar").click()
    judge(page)
    page.get_by_label("Why").fill("their hall is open")
    page.get_by_role("button", name="Lift the bar").click()
    page.get_by_role("dialog").get_by_role("button", name="Lift the bar").click()
    expect(page.get_by_text("Barred: On loan")).to_have_count(0)
    page.get_by_role("link", name="Change").click()
    page.get_by_text("Owner and terms").click()
    judge(page)
    page.locator("input[name=owner]").fill("Orla Finch")
    page.get_by_label("The owner's share in percent").fill("40")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("40% of what its frags bring")).to_be_visible()
    judge(page)


def test_a_whole_colony_is_offered_and_kept_again(live_page: Page, colony: Colony) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{colony.code_id}")
    page.get_by_text("Bar it, or it leaves").click()
    page.get_by_role("link", name="Offer it whole").click()
    judge(page)
    page.get_by_role("button", name="Offer it whole").click()
    expect(page.get_by_text("A whole colony, offered as one piece")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Keep as a colony").click()
    judge(page)
    page.get_by_role("button", name="Keep it as a colony").click()
    page.wait_for_url(re.compile(rf"/T/{colony.code_id}$"))
    expect(page.get_by_text("Back again")).to_be_visible()
    page.get_by_text("Bar it, or it leaves").click()
    page.get_by_role("link", name="It died").click()
    page.get_by_text("Bleaching").click()
    judge(page)
    page.get_by_role("button", name="Record its death").click()
    page.get_by_role("dialog").get_by_role("button", name="Record its death").click()
    expect(page.get_by_text("Died, Bleaching")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="Bring it back").click()
    judge(page)
    page.get_by_role("button", name="It is here again").click()
    expect(page.get_by_role("link", name="Cut", exact=True)).to_be_visible()


def test_a_kept_frag_shows_its_line(live_page: Page, colony: Colony, people: People) -> None:
    page = live_page
    frag = make_frag(people[Role.GROWER], colony=colony)
    sign_in(page, Role.GROWER)
    page.goto(f"/T/{frag.code_id}")
    page.get_by_role("link", name="Keep as a colony").click()
    page.get_by_role("button", name="Keep it as a colony").click()
    expect(page.get_by_role("heading", name="Lineage")).to_be_visible()
    judge(page)
    page.get_by_role("link", name="The whole line").click()
    expect(page.get_by_role("heading", name="Where it comes from")).to_be_visible()
    judge(page)
    page.goto(f"/colonies/{colony.code_id}/lineage")
    expect(page.get_by_text("1 colony descends from it")).to_be_visible()
    judge(page)


def test_pieces_are_received_with_their_cost(live_page: Page, people: People) -> None:
    page, grower = live_page, people[Role.GROWER]
    make_rack(grower, quarantine=True)
    make_variety(grower, name="Pier Moss", genus="Zoanthus")
    sign_in(page, Role.OWNER)
    page.goto("/arrivals")
    judge(page)
    page.get_by_role("link", name="Receive pieces").click()
    judge(page)
    page.get_by_label("Variety", exact=True).select_option(label="Pier Moss")
    page.get_by_label("Pieces", exact=True).fill("3")
    page.get_by_text("What they cost").click()
    page.get_by_label("What all of them cost").fill("36.00")
    page.get_by_role("button", name="Receive them").click()
    expect(page.get_by_text("May carry palytoxin")).to_be_visible()
    judge(page)
    page.get_by_role("button", name="Receive them").click()
    page.wait_for_url(re.compile(r"/arrivals/\d+$"))
    expect(page.get_by_text("of livestock is entered for them")).to_be_visible()
    assert Arrival.objects.get().cost == 3600
    assert Frag.objects.filter(quarantined=True).count() == 3
    judge(page)
    page.get_by_role("link", name="Print labels").click()
    page.wait_for_url(re.compile(r"/labels/\?arrival="))
    judge(page)
