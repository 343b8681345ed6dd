"""Prices and customers through the pages."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import CAUTIONS
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Role
from fraginv.trade.actions.customers import hold_for_customer
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.models import Customer, Price, TaxRate
from fraginv.trade.queries.prices import price_of
from fraginv.trade.rules.words import SALE_GROUPS
from tests.conftest import People
from tests.factories import make_frag, make_variety
from tests.trade.rows import CERTIFICATE, LONG_AGO, Shop, open_shop
from tests.trade.test_views_selling import send, text_of

ClientFor = Callable[[Role | None], Client]


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def manager(client_for: ClientFor) -> Client:
    return client_for(Role.MANAGER)


def price(**fields: object) -> dict[str, object]:
    return {"unit": "piece", "first_day": today().isoformat()} | fields


def test_prices_show_first_what_lacks_one(shop: Shop, manager: Client) -> None:
    priced = shop.priced_lot(3, price=1234)
    bare = make_frag(shop.manager, ready=True, size="L")
    own = make_frag(shop.manager, ready=True)
    make_frag(shop.manager)
    set_price(9900, kind=shop.retail, frag=own, first_day=LONG_AGO, by=shop.manager)
    answer = manager.get("/trade/prices")
    assert [lack.name for lack in answer.context["table"].lacks] == [bare.variety.name]
    text = text_of(answer)
    for words in ("$12.34", "$99.00", show_code(own.code_id), CAUTIONS["tax"].text, "6.25%"):
        assert words in text, words
    assert f"variety={bare.variety_id}&size=L" in text
    for_shop = manager.get("/trade/prices?kind=shop")
    lacks = {lack.name for lack in for_shop.context["table"].lacks}
    assert lacks == {one.variety.name for one in (priced, bare, own)}
    assert manager.get("/trade/prices?kind=nobody").status_code == 404


def test_prices_of_the_retail_kind_by_a_reader(shop: Shop, client_for: ClientFor) -> None:
    shop.priced_lot(3)
    text = text_of(client_for(Role.READER).get("/trade/prices"))
    assert "/trade/prices/set" not in text
    assert client_for(Role.GROWER).get("/trade/prices").status_code == 403


def test_setting_prices_of_each_sort(shop: Shop, manager: Client) -> None:
    frag = make_frag(shop.manager, ready=True)
    kind = {"kind": shop.retail.pk}
    rows: list[tuple[dict[str, object], int]] = [
        ({"group": "SPS", "amount": "5"}, 500),
        ({"group": "SPS", "size": "M", "amount": "6"}, 600),
        ({"variety": frag.variety_id, "amount": "7"}, 700),
        ({"variety": frag.variety_id, "size": "M", "amount": "8"}, 800),
        ({"frag": show_code(frag.code_id), "amount": "9"}, 900),
        ({"frag": frag.code_id, "amount": "0"}, 0),
    ]
    for fields, amount in rows:
        done = send(manager, "/trade/prices/set", **price(**kind, **fields))
        assert (done.status_code, done["Location"]) == (303, "/trade/prices?kind=retail")
        assert price_of(frag, kind=shop.retail, day=today()).amount == amount
    assert Price.objects.count() == 6


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"group": "SPS", "amount": "-1"}, "cannot be negative"),
        ({"amount": "1"}, "one frag, one variety or one group"),
        ({"group": "SPS", "amount": ""}, "Write a price."),
        ({"group": "SPS", "amount": "1.234"}, "too many decimals"),
        ({"group": "SPS", "amount": "1", "first_day": "1 May"}, "Write the day as in"),
        ({"frag": "ZZZZZZZ", "amount": "1"}, "Nothing was saved yet"),
        ({"group": "fish", "amount": "1"}, "Select a valid choice"),
    ],
)
def test_bad_prices_say_why(
    shop: Shop, manager: Client, fields: dict[str, object], says: str
) -> None:
    sent = price(kind=shop.retail.pk) | fields
    answer = send(manager, "/trade/prices/set", **sent)
    assert answer.status_code == 400
    assert says in text_of(answer)
    assert not Price.objects.exists()


def test_setting_the_sales_tax(shop: Shop, manager: Client) -> None:
    sent = {"name": "Sales tax", "percent": "8.875", "basis": "item", "first_day": "2026-01-01"}
    assert CAUTIONS["tax"].text in text_of(manager.get("/trade/tax/set"))
    assert send(manager, "/trade/tax/set", **sent).status_code == 303
    rate = TaxRate.objects.latest("pk")
    assert (str(rate.rate), rate.basis, rate.first_day) == ("0.088750", "item", date(2026, 1, 1))
    refused = send(manager, "/trade/tax/set", **(sent | {"percent": "101"}))
    assert refused.status_code == 400
    assert "fraction from 0 to 1" in text_of(refused)
    assert TaxRate.objects.count() == 2


def test_adding_a_customer_with_a_certificate(shop: Shop, client_for: ClientFor) -> None:
    seller = client_for(Role.SELLER)
    sent = {
        "name": "Saltmarsh Corals",
        "kind": shop.shop.pk,
        "email": "desk@saltmarsh.example",
        "state": "Northmark",
        "number": "NK-1",
        "valid_from": "2020-01-01",
        "valid_until": "2020-12-31",
    }
    done = send(seller, "/trade/customers/add", **sent)
    customer = Customer.objects.get()
    assert (done.status_code, done["Location"]) == (303, f"/trade/customers/{customer.pk}")
    page = text_of(seller.get(done["Location"]))
    assert "Northmark NK-1" in page
    assert "not valid today" in page
    twice = send(seller, "/trade/customers/add", **(sent | {"name": "saltmarsh corals"}))
    assert "There is a customer named saltmarsh corals already" in text_of(twice)
    half = send(seller, "/trade/customers/add", name="Eastquay", kind=shop.shop.pk, state="N")
    assert "Fill in all four, or none" in text_of(half)
    assert Customer.objects.count() == 1


def test_changing_a_certificate(shop: Shop, client_for: ClientFor) -> None:
    seller, customer = client_for(Role.SELLER), shop.customer(certificate=CERTIFICATE)
    path = f"/trade/customers/{customer.pk}/certificate"
    assert "NK-4471" in text_of(seller.get(path))
    assert send(seller, path, valid_from="2026-01-01", valid_until="2025-01-01").status_code == 400
    assert send(seller, path).status_code == 303
    assert not Customer.objects.get().certificate.number
    assert seller.get("/trade/customers/0").status_code == 404


@pytest.mark.parametrize("count", [1, 6], ids=["one", "six"])
def test_pages_ask_no_more_for_more_rows(
    shop: Shop,
    manager: Client,
    count: int,
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    customers = [shop.customer(f"Shop {number}", kind=shop.retail) for number in range(count)]
    for _ in range(count):
        make_variety(shop.manager)
        lot = shop.priced_lot(9)
        set_price(5, kind=shop.retail, frag=lot, first_day=LONG_AGO, by=shop.manager)
        hold_for_customer(lot.pk, pieces=1, customer=customers[0], by=shop.seller)
        shop.sell(lot, 1, customer=customers[0])
    for path, most in {
        "/trade/prices": 10,
        "/trade/prices/set": 6,
        "/trade/customers": 5,
        f"/trade/customers/{customers[0].pk}": 8,
    }.items():
        with django_assert_max_num_queries(most):
            assert manager.get(path).status_code == 200


def test_the_place_for_any_size_is_left_out_while_it_is_empty(shop: Shop, manager: Client) -> None:
    variety = make_variety(shop.manager)
    fields: dict[str, Any] = {"kind": shop.retail, "first_day": LONG_AGO, "by": shop.manager}
    set_price(1200, variety=variety, size="M", **fields)
    page = text_of(manager.get("/trade/prices"))
    assert "Any size" not in page
    assert page.count("Mini-colony") == 1 + len(SALE_GROUPS)
    set_price(700, group="SPS", **fields)
    assert text_of(manager.get("/trade/prices")).count("Any size") == len(SALE_GROUPS)
