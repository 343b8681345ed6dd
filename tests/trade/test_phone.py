"""From a hold to a receipt in a real browser, at the width of a phone."""

import re
from collections.abc import Callable
from io import BytesIO

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.models import Sale
from fraginv.trade.queries.differences import trade_differences
from tests.browsing import PHONE, assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.trade.rows import Shop, open_shop

pytestmark = pytest.mark.browser


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def look(page: Page) -> None:
    """Judge a page as it stands."""
    assert_accessible(page)
    assert_fits(page)


def put_aside(page: Page, lot: Frag, *, pieces: int, name: str) -> None:
    """Ask for pieces of a lot to be put aside."""
    page.goto(f"/trade/hold/{lot.code_id}")
    page.get_by_label("Pieces").fill(str(pieces))
    page.get_by_label("Or a name").fill(name)
    look(page)
    page.get_by_role("button", name="Put aside").click()


def sell_what_is_held(page: Page, lot: Frag) -> None:
    """Sell four of the five pieces that a name has, and take 70.00 for them."""
    page.goto("/trade/sell")
    look(page)
    page.get_by_role("link", name="Ines Varga, 5 pieces").click()
    expect(page.get_by_role("button", name="Sell for $98.28, cash")).to_be_visible()
    page.get_by_label("Add a piece").fill(show_code(lot.code_id).lower())
    page.get_by_role("button", name="Add and work out").click()
    expect(page.get_by_role("alert")).to_contain_text("is on the list already")
    page.get_by_label("Add a piece").fill("")
    page.get_by_role("button", name="One less").first.click()
    expect(page.get_by_role("button", name="Sell for")).to_be_hidden()
    page.get_by_role("button", name="Work out", exact=True).click()
    expect(page.get_by_role("button", name="Sell for $78.63")).to_be_visible()
    page.get_by_label("Card").check()
    expect(page.get_by_role("button", name="Sell for $78.63, card")).to_be_visible()
    page.get_by_label("Cash").check()
    page.get_by_label("Received").fill("70")
    look(page)
    page.get_by_role("button", name="Sell for $78.63").click()
    page.wait_for_url("**/trade/sales/*")


def take_the_rest(page: Page) -> None:
    """Take 9.00, which is too much, then the 8.63 that are owed."""
    expect(page.get_by_text("$8.63").first).to_be_visible()
    look(page)
    page.get_by_role("link", name="Take money").click()
    page.get_by_label("Amount").fill("9")
    page.get_by_role("button", name="Take the money").click()
    expect(page.get_by_role("alert")).to_contain_text(
        "9.00 USD is more than what is owed, 8.63 USD"
    )
    page.get_by_label("Amount").fill("8.63")
    page.get_by_role("button", name="Take the money").click()
    expect(page.get_by_text("The payment is taken.")).to_be_visible()


def test_hold_second_seller_sell_pay_receipt(
    live_page: Page, page_at: Callable[[int, int], Page], shop: Shop
) -> None:
    lot = shop.priced_lot(6, price=1850)
    page, other = live_page, page_at(*PHONE)
    sign_in(page, Role.SELLER)
    put_aside(page, lot, pieces=5, name="Ines Varga")
    page.wait_for_url(f"**/T/{lot.code_id}")
    sign_in(other, Role.MANAGER)
    put_aside(other, lot, pieces=2, name="Next One")
    told = re.compile(r"1 free of 6: Ines Varga has 5 until \d{4}-\d\d-\d\d \d\d:\d\d")
    expect(other.get_by_role("alert")).to_contain_text(told)
    look(other)
    sell_what_is_held(page, lot)
    take_the_rest(page)
    path = page.get_by_role("link", name="Receipt").get_attribute("href") or ""
    text = PdfReader(BytesIO(page.request.get(path).body())).pages[0].extract_text()
    for words in ("Ines Varga", "Settled", "$78.63"):
        assert words in text
    assert Frag.objects.get(pk=lot.pk).free == 2
    assert Sale.objects.get().balance.owed == 0
    assert not [*trade_differences(), *stock_differences()]


def test_every_page_fits_a_phone_and_can_be_used_by_all(live_page: Page, shop: Shop) -> None:
    page = live_page
    lot = shop.priced_lot(9)
    customer = shop.customer("Saltmarsh Corals", kind=shop.retail)
    sale = shop.sell(lot, 3, customer=customer, paid=1000)
    sign_in(page, Role.MANAGER)
    for path in (
        "/trade/prices",
        "/trade/prices/set",
        "/trade/tax/set",
        "/trade/customers",
        "/trade/customers/add",
        f"/trade/customers/{customer.pk}",
        f"/trade/sell?customer={customer.pk}&code={lot.code_id}",
        "/trade/sales",
        f"/trade/sales/{sale.pk}",
        f"/trade/sales/{sale.pk}/pay",
        f"/trade/sales/{sale.pk}/credit",
    ):
        answer = page.goto(path)
        assert answer is not None
        assert answer.status == 200
        look(page)


def test_what_a_customer_has_is_let_go_by_its_button(live_page: Page, shop: Shop) -> None:
    lot, customer = shop.priced_lot(4), shop.customer(kind=shop.retail)
    hold_for_customer(lot.pk, pieces=2, customer=customer, by=shop.seller)
    page = live_page
    sign_in(page, Role.SELLER)
    page.goto(f"/trade/customers/{customer.pk}")
    page.get_by_role("button", name="Let go").click()
    page.wait_for_url(f"**/trade/customers/{customer.pk}")
    expect(page.get_by_role("button", name="Let go")).to_be_hidden()
    assert Frag.objects.get(pk=lot.pk).free == 4
