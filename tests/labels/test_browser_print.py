"""The label pages in a browser, at a phone's and a desk's width."""

import pytest
from playwright.sync_api import Page, expect

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.labels.models import PrintRun
from tests.base.papers import symbols_of
from tests.browsing import DESK, PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_frags

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("path", ["/labels/", "/labels/blank"])
def test_the_label_pages_fit_and_are_accessible(live_page: Page, people: People, path: str) -> None:
    sign_in(live_page, Role.GROWER)
    for width, height in (PHONE, DESK):
        live_page.set_viewport_size({"width": width, "height": height})
        live_page.goto(path)
        expect(live_page.get_by_role("button", name="Make the labels")).to_be_visible()
        assert_fits(live_page)
        assert_accessible(live_page)


def test_labels_for_a_cutting_come_as_one_pdf(live_page: Page, people: People) -> None:
    frags = make_frags(people[Role.GROWER], 3)
    sign_in(live_page, Role.GROWER)
    live_page.goto(f"/labels/?cutting={frags[0].cutting_id}")
    expect(live_page.get_by_label("Codes")).to_have_value(
        "\n".join(show_code(frag.code_id) for frag in frags)
    )

    live_page.get_by_role("button", name="Make the labels").click()
    sheets_link = live_page.get_by_role("link", name="Open the sheets")
    expect(sheets_link).to_have_attribute("target", "_blank")
    run = PrintRun.objects.get()
    assert live_page.url.endswith(f"/labels/runs/{run.pk}")
    sheets = live_page.request.get(f"/labels/runs/{run.pk}.pdf").body()
    assert len(symbols_of(sheets)[0]) == 3


def test_a_mistake_keeps_what_was_typed(live_page: Page, people: People) -> None:
    sign_in(live_page, Role.GROWER)
    live_page.goto("/labels/")
    live_page.get_by_label("Codes").fill("7K3-Q9F-M")
    live_page.get_by_role("button", name="Make the labels").click()
    expect(live_page.get_by_text("A character in 7K3-Q9F-M is wrong")).to_be_visible()
    expect(live_page.get_by_label("Codes")).to_have_value("7K3-Q9F-M")
    assert_accessible(live_page)
