"""Rows that tests of the trade share."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import transaction

from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.stock.models import Frag
from fraginv.trade.actions.customers import add_customer
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Customer, CustomerKind, Sale
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.asked import SaleItem, Tender
from fraginv.trade.rules.certificates import Certificate
from fraginv.trade.rules.words import Basis, Means
from tests.conftest import People
from tests.factories import make_lot


@contextmanager
def refused(error: type[FraginvError], match: str | None = None) -> Iterator[None]:
    """Expect an action to fail, and take back what it wrote as its own transaction would.

    The test's transaction is around the action's, which therefore joins it.
    """
    with pytest.raises(error, match=match), transaction.atomic():
        yield


LONG_AGO = date(2020, 1, 1)


@dataclass
class Shop:
    """A crew with a tax rate, and ways to price and sell a lot."""

    seller: Person
    manager: Person
    retail: CustomerKind
    shop: CustomerKind

    def priced_lot(self, pieces: int = 30, *, price: int = 1000, **fields: Any) -> Frag:
        """Cut a ready lot of a new variety and set its retail price."""
        lot = make_lot(self.manager, pieces, ready=True, **fields)
        set_price(price, kind=self.retail, variety=lot.variety, first_day=LONG_AGO, by=self.manager)
        return lot

    def sell(self, lot: Frag, pieces: int, *, paid: int = 0, **fields: Any) -> Sale:
        """Sell pieces of one lot."""
        payment = Tender(Means.CASH, paid) if paid else None
        item = SaleItem(lot.pk, pieces, discount=fields.pop("off", 0))
        return post_sale([item], by=self.seller, payment=payment, **fields)

    def customer(self, name: str = "Saltmarsh Corals", **fields: Any) -> Customer:
        """Write down a shop."""
        return add_customer(name, kind=fields.pop("kind", self.shop), by=self.seller, **fields)


def open_shop(people: People, *, rate: str = "0.0625", basis: Basis = Basis.INVOICE) -> Shop:
    """Set the tax rate of a crew."""
    manager = people[Role.MANAGER]
    set_tax_rate(Decimal(rate), basis=basis, first_day=LONG_AGO, by=manager)
    return Shop(people[Role.SELLER], manager, get_kind("retail"), get_kind("shop"))


CERTIFICATE = Certificate("Northmark", "NK-4471", date(2020, 1, 1), date(2099, 12, 31))
