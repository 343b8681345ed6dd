"""Setting prices and tax rates on real rows."""

import random
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.queries.organisation import today
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import CustomerKind, Price
from fraginv.trade.queries.prices import get_kind, prices_for, tax_rate_on
from fraginv.trade.rules.prices import Offer, PriceMissing, Target, price_book
from fraginv.trade.rules.words import Basis, Unit
from tests.conftest import People
from tests.factories import make_frag, make_variety
from tests.trade.rows import LONG_AGO, Shop, open_shop, refused


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def test_kinds_are_there_from_the_start(shop: Shop) -> None:
    assert list(CustomerKind.objects.values_list("name", flat=True)) == ["retail", "shop", "staff"]
    assert get_kind(" Shop ") == shop.shop
    with pytest.raises(NotFound, match="There are: retail, shop, staff"):
        get_kind("club")


def test_price_holds_from_its_first_day_and_the_last_set_counts(shop: Shop) -> None:
    frag = make_frag(shop.manager, ready=True)
    tomorrow = today() + timedelta(days=1)
    for amount, first_day in ((100, LONG_AGO), (300, tomorrow), (200, today()), (250, today())):
        set_price(
            amount, kind=shop.retail, variety=frag.variety, first_day=first_day, by=shop.manager
        )
    yesterday = today() - timedelta(days=1)
    for day, amount in ((yesterday, 100), (today(), 250), (tomorrow, 300)):
        assert prices_for(shop.retail, day=day).choose(frag).amount == amount
    with pytest.raises(PriceMissing, match="no shop price"):
        prices_for(shop.shop, day=today()).choose(frag)
    assert prices_for(shop.shop, day=today()).find(frag) is None


def test_any_history_leaves_the_price_in_force_of_each_target(shop: Shop) -> None:
    chance, day = random.Random(7), today()
    frags = [make_frag(shop.manager, ready=True) for _ in range(2)]
    for amount in range(1, 80):
        frag = chance.choice(frags)
        targets: list[dict[str, Any]] = [
            {"frag": frag},
            {"variety": frag.variety},
            {"group": "SPS"},
            {"group": "clam"},
        ]
        target = chance.choice(targets)
        size = "" if "frag" in target else chance.choice(["", "S", "M"])
        first_day = day + timedelta(days=chance.randrange(-4, 3))
        set_price(
            amount, kind=shop.retail, size=size, first_day=first_day, by=shop.manager, **target
        )
    rows = [
        (
            Target(row.frag_id, row.variety_id, row.group, row.size),
            Offer(row.amount, Unit(row.unit), row.first_day),
        )
        for row in Price.objects.order_by("pk")
    ]
    for shift in range(-5, 4):
        asked = day + timedelta(days=shift)
        assert prices_for(shop.retail, day=asked).book == price_book(rows, day=asked)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"size": "XL"}, "'XL' is no size"),
        ({"group": "fish", "variety": None}, "'fish' is no group"),
        ({"amount": -1}, "cannot be negative"),
        ({"variety": None}, "one frag, one variety or one group"),
    ],
    ids=["size", "group", "negative", "nothing"],
)
def test_bad_prices_are_refused(shop: Shop, fields: dict[str, object], says: str) -> None:
    asked = {"variety": make_variety(shop.manager), "amount": 5} | fields
    amount = asked.pop("amount")
    with refused(InputError, says):
        set_price(amount, kind=shop.retail, by=shop.manager, **asked)  # type: ignore[arg-type]
    assert not Price.objects.exists()


@pytest.mark.parametrize(
    ("rate", "basis", "name", "says"),
    [
        ("6.25", Basis.ITEM, "Tax", "fraction from 0 to 1"),
        ("-0.01", Basis.ITEM, "Tax", "fraction from 0 to 1"),
        ("0.0625001", Basis.ITEM, "Tax", "six decimals at most"),
        ("0.0625", Basis.STATED, "Tax", "by item or by invoice"),
        ("0.0625", Basis.ITEM, " ", "needs a name"),
    ],
)
def test_bad_tax_rates_are_refused(
    shop: Shop, rate: str, basis: Basis, name: str, says: str
) -> None:
    with refused(InputError, says):
        set_tax_rate(Decimal(rate), basis=basis, name=name, by=shop.manager)
    assert tax_rate_on(today()).rate == Decimal("0.0625")


def test_prices_are_never_written_over(shop: Shop) -> None:
    shop.priced_lot(2)
    with pytest.raises(Conflict, match="stays as it is"):
        Price.objects.get().save()
    with pytest.raises(Conflict, match="stays as it is"):
        tax_rate_on(today()).delete()


def test_nothing_to_sell(shop: Shop) -> None:
    with refused(InputError, "There is nothing to sell"):
        post_sale([], by=shop.seller)
