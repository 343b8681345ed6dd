"""What a real browser makes of the headers."""

import re
from io import BytesIO

from PIL import Image
from playwright.sync_api import Browser, Page
from pytest_django.live_server_helper import LiveServer

from fraginv.base.rules.roles import Role
from tests.browsing import sign_in
from tests.conftest import POLICIES, People
from tests.factories import make_lot
from tests.trade.rows import open_shop

# What somebody might get into a page by a mistake of ours.
PLANT = """() => {
    document.body.insertAdjacentHTML("beforeend", "<img src=x onerror='window.bad = 1'>");
    const script = document.createElement("script");
    script.textContent = "window.bad = 2";
    const far = document.createElement("script");
    far.src = "https://reef.evil.test/a.js";
    document.body.append(script, far);
}"""


def test_a_planted_script_is_not_run(
    browser: Browser, live_server: LiveServer, people: People
) -> None:
    context = browser.new_context(base_url=live_server.url)
    page, said = context.new_page(), []
    page.on("console", lambda told: said.append(told.text))
    page.goto("/sign-in")
    page.evaluate(PLANT)
    page.wait_for_timeout(300)
    assert page.evaluate("window.bad") is None
    # The fixture that other browser tests use fails on each of these.
    assert len([text for text in said if any(policy in text for policy in POLICIES)]) == 3
    context.close()


def test_papers_are_shown_under_the_policy(live_page: Page, people: People) -> None:
    shop = open_shop(people)
    sale = shop.sell(shop.priced_lot(30), 3)
    sign_in(live_page, Role.SELLER)
    live_page.goto(f"/trade/sales/{sale.pk}/receipt.pdf")
    assert live_page.evaluate("document.contentType") == "application/pdf"
    # Paper is white and has black words on it; a viewer that was refused shows neither.
    for _ in range(40):
        live_page.wait_for_timeout(250)
        shades = Image.open(BytesIO(live_page.screenshot())).convert("L").histogram()
        if sum(shades[250:]) > 20_000 and sum(shades[:40]) > 200:
            return
    raise AssertionError("The paper is not shown.")


def test_back_after_signing_out_shows_nothing(live_page: Page, people: People) -> None:
    lot = make_lot(people[Role.GROWER], 5)
    sign_in(live_page, Role.GROWER)
    live_page.goto("/colonies")
    live_page.goto(f"/T/{lot.code_id}")
    live_page.locator("form[action='/sign-out'] button").first.evaluate("b => b.click()")
    live_page.wait_for_url(re.compile("/sign-in"))
    for _ in range(2):
        live_page.go_back()
        assert "Sign out" not in live_page.content()
    kept = live_page.evaluate("Object.keys(localStorage).concat(Object.keys(sessionStorage))")
    assert set(kept) <= {"theme"}
