"""The sheet's pages through the browser's door, and in a real browser."""

from collections.abc import Callable, Iterator

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.rules.roles import Right, Role, can
from fraginv.sheets.queries.availability import mark_of
from tests.browsing import assert_accessible, assert_fits, sign_in
from tests.conftest import People
from tests.factories import make_variety
from tests.sheets.rows import NOON, picture, price, stand
from tests.trade.rows import Shop, open_shop

ClientFor = Callable[[Role | None], Client]
SHEET, PDF = reverse("sheets:sheet"), reverse("sheets:pdf")


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with clock.at(NOON):
        yield open_shop(people)


def fill(shop: Shop, count: int = 1) -> None:
    """Let varieties stand for sale, each with a picture, and one without a price."""
    for place in range(count):
        variety = make_variety(shop.manager)
        frag, picked = stand(shop, variety, sizes="MM")
        price(shop, 2_500, variety=variety)
        price(shop, 9_900, frag=picked)
        picture(shop, frag, shade=place)
    stand(shop, make_variety(shop.manager, name=f"Night Ferry {count}"))


@pytest.mark.parametrize("role", list(Role))
@pytest.mark.parametrize("path", [SHEET, PDF])
def test_who_sees_prices_sees_the_sheet(
    shop: Shop, client_for: ClientFor, role: Role, path: str
) -> None:
    fill(shop)
    expected = 200 if can(role, Right.SEE_PRICES) else 403
    assert client_for(role).get(path).status_code == expected


def test_nobody_sees_it_from_outside(shop: Shop, client_for: ClientFor) -> None:
    for path in (SHEET, PDF):
        response = client_for(None).get(path)
        assert response.status_code in {302, 303}
        assert "sign-in" in response.headers["Location"]


def test_the_page_lists_what_can_be_had_and_what_lacks_a_price(
    shop: Shop, client_for: ClientFor
) -> None:
    fill(shop)
    text = client_for(Role.SELLER).get(SHEET).content.decode()
    for words in ("Harbour Lantern 1", "$25.00", "$99.00", "CITES Appendix II"):
        assert words in text
    assert "1 piece ready and left off the sheet" in text
    assert "There is no retail price for Night Ferry 1, size M." in text
    assert text.count("<img") == 1


def test_the_chosen_customers_prices_stand_on_page_and_pdf(
    shop: Shop, client_for: ClientFor
) -> None:
    fill(shop)
    customer = shop.customer("Saltmarsh Corals")
    price(shop, 1_600, kind=shop.shop, group="SPS")
    page = client_for(Role.SELLER).get(SHEET, {"reader": mark_of(customer)})
    assert "$16.00" in page.content.decode()
    assert f"{PDF}?reader={mark_of(customer)}" in page.content.decode()
    pdf = client_for(Role.SELLER).get(PDF, {"reader": mark_of(customer)})
    assert pdf.headers["Content-Type"] == "application/pdf"
    assert "no-store" in pdf.headers["Cache-Control"]
    assert pdf.content.startswith(b"%PDF-")


@pytest.mark.parametrize("path", [SHEET, PDF])
def test_an_unknown_reader_is_no_page(shop: Shop, client_for: ClientFor, path: str) -> None:
    response = client_for(Role.SELLER).get(path, {"reader": "customer-999"})
    assert response.status_code == 404
    assert "no such customer" in response.content.decode()


def test_an_empty_sheet_says_what_to_do(shop: Shop, client_for: ClientFor) -> None:
    assert "once it is graded ready" in client_for(Role.SELLER).get(SHEET).content.decode()


def test_ten_varieties_take_no_more_statements_than_one(
    shop: Shop, client_for: ClientFor, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    client = client_for(Role.SELLER)
    for count in (1, 9):
        fill(shop, count)
        # Session, person, organisation, reader, the sheet's four, and two for the choice.
        with django_assert_max_num_queries(10):
            assert client.get(SHEET).status_code == 200


@pytest.mark.browser
def test_the_sheet_on_a_phone(people: People, live_page: Page) -> None:
    shop = open_shop(people)
    fill(shop, 3)
    shop.customer("Saltmarsh Corals")
    price(shop, 1_600, kind=shop.shop, group="SPS")
    sign_in(live_page, Role.SELLER)
    live_page.goto(SHEET)
    expect(live_page.get_by_text("$25.00").first).to_be_visible()
    assert_fits(live_page)
    assert_accessible(live_page)
    live_page.get_by_label("At the prices of").select_option("Saltmarsh Corals (shop)")
    live_page.get_by_role("button", name="Show these prices").click()
    expect(live_page.get_by_text("$16.00").first).to_be_visible()
    expect(live_page.get_by_text("$25.00")).to_have_count(0)
    loaded = live_page.locator("img.list__picture").first.evaluate("one => one.naturalWidth > 0")
    assert loaded
    assert_fits(live_page)
    assert_accessible(live_page)
