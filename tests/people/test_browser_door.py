"""The door in a real browser: two tabs of one phone, the second step, and what fits a thumb."""

import re
from base64 import b32encode
from collections.abc import Callable
from io import BytesIO

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from fraginv.base.actions.founding import add_person
from fraginv.base.models import Person, ReplayKey
from fraginv.base.rules.roles import Role
from fraginv.base.symbols import read_symbols
from fraginv.ledger.models import Entry
from fraginv.people.actions.phones import set_pin
from fraginv.people.queries.factors import key_in_waiting, recovery_codes_left
from fraginv.stock.models import FragEvent
from fraginv.trade.models import Payment, Sale
from tests.browsing import PASSWORD, PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.people.codes import code_now
from tests.people.test_second_step import forget_waits
from tests.trade.rows import open_shop

pytestmark = pytest.mark.browser
PIN = "274951"


@pytest.fixture
def second_seller(people: People) -> Person:
    """Who may sell too, so that nothing but the door keeps forms apart."""
    person = add_person("ines", name="Ines Varga", role=Role.SELLER, password=PASSWORD)
    for each in (person, people[Role.SELLER]):
        set_pin(each, pin=PIN)
    return person


def look(page: Page) -> None:
    """Judge a page as it stands, and what a thumb must hit on it."""
    assert_accessible(page)
    assert_fits(page)
    for target in page.locator("main button:visible, main input:visible, main a.button").all():
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= 44, target.evaluate("each => each.outerHTML")


def leave(page: Page) -> None:
    """Press Change person where it stands on a phone."""
    page.locator("summary", has_text="More, signed in as").click()
    page.get_by_role("button", name="Change person").last.click()
    expect(page.get_by_role("heading", name="Who is it now?")).to_be_visible()


def tap(page: Page, name: str) -> None:
    """Take the phone over by PIN."""
    page.get_by_role("link", name=name).click()
    expect(page.get_by_label("PIN")).to_be_visible()
    look(page)
    page.get_by_label("PIN").fill(PIN)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(r"/$"))


def test_what_one_had_open_is_not_sent_as_another(
    live_page: Page, people: People, second_seller: Person
) -> None:
    lot = open_shop(people).priced_lot(6)
    written = {model: model.objects.count() for model in (FragEvent, Entry, Payment, ReplayKey)}
    first = live_page
    for name in ("ines", "seller"):
        first.goto("/sign-in")
        first.get_by_label("Sign-in name").fill(name)
        first.get_by_label("Password", exact=True).fill(PASSWORD)
        first.locator("main button[type=submit]").first.click()
        first.wait_for_url(re.compile(r"/$"))
    first.goto(f"/trade/sell?code={lot.code_id}")
    first.get_by_label("Received").fill("10")
    second = first.context.new_page()
    second.goto("/")
    leave(second)
    look(second)
    tap(second, "Ines Varga")
    first.get_by_role("button", name=re.compile("^Sell for")).click()
    expect(first.get_by_text("Nothing was written.")).to_be_visible()
    expect(first.get_by_role("heading", name="This form is from an earlier visit")).to_be_visible()
    look(first)
    assert not Sale.objects.exists()
    assert {model: model.objects.count() for model in written} == written
    second.goto("/me")
    expect(second.get_by_role("heading", name="Ines Varga")).to_be_visible()


def test_the_back_button_shows_nobody_what_was_private(
    live_page: Page, people: People, second_seller: Person
) -> None:
    lot, page = open_shop(people).priced_lot(6), live_page
    sign_in(page, Role.SELLER)
    for path in ("/trade/customers", f"/trade/sell?code={lot.code_id}"):
        page.goto(path)
    leave(page)
    for _ in range(3):
        page.go_back()
        page.wait_for_load_state()
        text = page.locator("body").inner_text()
        assert "Received" not in text
        assert re.search(r"/(sign-in|change)", page.url)


def test_a_pin_is_set_and_used_on_one_phone(live_page: Page, people: People) -> None:
    page = live_page
    sign_in(page, Role.GROWER)
    page.goto("/me/pin")
    look(page)
    page.get_by_label("New PIN").fill(PIN)
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Set the PIN").click()
    expect(page.get_by_text("Your PIN is set.")).to_be_visible()
    look(page)
    leave(page)
    tap(page, "Test grower")
    expect(page.get_by_text("Change person").first).to_be_attached()


def come_in_by_recovery(other: Page, code: str) -> None:
    """Sign in as the manager where the phone with the key is not."""
    other.goto("/sign-in")
    other.get_by_label("Sign-in name").fill("manager")
    other.get_by_label("Password", exact=True).fill(PASSWORD)
    other.locator("main button[type=submit]").first.click()
    expect(other.get_by_role("heading", name="Second step")).to_be_visible()
    look(other)
    other.get_by_label("Code from your phone").fill("000000")
    other.get_by_role("button", name="Sign in", exact=True).click()
    expect(other.get_by_role("alert")).to_contain_text("You are not signed in yet.")
    other.get_by_text("The phone is not here").click()
    look(other)
    forget_waits()
    other.get_by_label("Recovery code").fill(code)
    other.get_by_role("button", name="Sign in with a recovery code").click()
    other.wait_for_url(re.compile(r"/$"))


def test_setting_the_second_step_up_and_coming_in_by_it(
    live_page: Page, page_at: Callable[[int, int], Page], people: People
) -> None:
    page = live_page
    sign_in(page, Role.MANAGER)
    expect(page.get_by_role("button", name="Not now")).to_be_visible()
    look(page)
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_role("button", name="Set it up").click()
    expect(page.get_by_role("heading", name="Give the key to your phone")).to_be_visible()
    look(page)
    device = key_in_waiting(people[Role.MANAGER])
    assert device is not None
    secret = b32encode(device.bin_key).decode()
    picture = Image.open(BytesIO(page.locator("svg.symbol").screenshot())).convert("L")
    (read,) = read_symbols(picture.tobytes(), width=picture.width, height=picture.height)
    assert f"secret={secret}" in read.text
    page.get_by_label("Code from your phone").fill(code_now(secret))
    page.get_by_role("button", name="Turn it on").click()
    expect(page.locator("li.secret")).to_have_count(10)
    look(page)
    code = page.locator("li.secret").first.inner_text()
    come_in_by_recovery(page_at(*PHONE), code)
    assert recovery_codes_left(people[Role.MANAGER]) == 9
    for path in ("/me/second-step", "/me/second-step/codes", "/me/second-step/off", "/me/pin"):
        page.goto(path)
        look(page)
