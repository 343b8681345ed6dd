"""Months for tests of the reports, made by the same actions that people use."""

import random
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import Any

from fraginv.base import clock
from fraginv.costs.actions import add_bill, pay_bill
from fraginv.costs.models import Bill
from fraginv.costs.rules import BillItem
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.models import Sale
from fraginv.trade.rules.asked import CreditItem
from fraginv.trade.rules.words import Channel, Means
from tests.factories import make_colony, make_variety
from tests.trade.rows import Shop

NOVEMBER = 202611
NOON = datetime(2026, 11, 16, 17, tzinfo=UTC)
GENERA = ("Acropora", "Zoanthus", "Euphyllia")


@contextmanager
def november() -> Iterator[None]:
    """Be in the middle of November 2026."""
    with clock.at(NOON):
        yield


def noon_of(month: int, day: int = 12) -> datetime:
    """Return noon of a day of a month, or nearly so, in New York."""
    return datetime(month // 100, month % 100, day, 17, tzinfo=UTC)


def bill(shop: Shop, amount: int, *, kind: str = "electricity", **fields: Any) -> Bill:
    """Enter a bill with one kind of cost, on the 10th of November unless another day is given."""
    given = {"day": date(2026, 11, 10)} | fields
    return add_bill([BillItem(kind, amount)], by=shop.manager, **given).bill


class Story:
    """Months of random sales, payments, credits and bills, the same for the same seed."""

    def __init__(self, shop: Shop, *, seed: int) -> None:
        self.shop = shop
        self.chance = random.Random(seed)
        self.customer = shop.customer("Saltmarsh Corals", kind=shop.retail)
        self.sales: list[Sale] = []
        self.bills: list[Bill] = []
        self.lots = [
            shop.priced_lot(
                400,
                price=self.chance.randrange(700, 6_000),
                colony=make_colony(shop.manager, variety=make_variety(shop.manager, genus=genus)),
            )
            for genus in GENERA
        ]

    def live(self, *months: int, steps: int = 12) -> None:
        """Let so many things happen in each month."""
        for month in months:
            for step in range(steps):
                with clock.at(noon_of(month, 2 + 2 * step)):
                    self.chance.choice(
                        (self.sell, self.sell, self.pay, self.credit, self.enter, self.settle)
                    )()

    def sell(self) -> None:
        """Sell of one or two lots, with discounts, paid in part or not at all."""
        lot = self.chance.choice(self.lots)
        sale = self.shop.sell(
            lot,
            self.chance.randrange(1, 9),
            off=self.chance.choice((0, 0, 150)),
            discount=self.chance.choice((0, 0, 301)),
            channel=self.chance.choice(list(Channel)),
            paid=self.chance.choice((0, 333)),
            customer=self.chance.choice((None, self.customer)),
        )
        self.sales.append(sale)

    def pay(self) -> None:
        """Pay something of what is owed on a sale."""
        for sale in self.chance.sample(self.sales, len(self.sales)):
            sale.balance.refresh_from_db()
            if sale.balance.owed:
                amount = self.chance.randrange(1, sale.balance.owed + 1)
                means = self.chance.choice((Means.CASH, Means.CARD, Means.TRANSFER))
                take_payment(sale.pk, amount=amount, means=means, by=self.shop.seller)
                return

    def credit(self) -> None:
        """Credit a piece of a sale, alive or dead."""
        if not self.sales:
            return
        sale = self.chance.choice(self.sales)
        line = sale.lines.get()
        back = sum(part.pieces for part in line.credit_lines.all())
        if back < line.quantity:
            alive = self.chance.randrange(2)
            credit_sale(
                sale.pk,
                items=[CreditItem(line.pk, pieces=1, alive=alive)],
                refund_means=Means.CASH,
                by=self.shop.manager,
            )

    def enter(self) -> None:
        """Enter a bill of any sort."""
        amount = self.chance.randrange(1_000, 200_000)
        self.bills.append(
            bill(
                self.shop,
                amount,
                kind=self.chance.choice(("electricity", "salt", "plugs")),
                serves=self.chance.choice(("display", "frags", "shared")),
                settled=self.chance.choice(("paid", "owed", "in_kind")),
                day=clock.now().date(),
            )
        )

    def settle(self) -> None:
        """Pay a bill that is owed."""
        for entered in self.bills:
            entered.refresh_from_db()
            if entered.is_owed:
                pay_bill(entered.pk, by=self.shop.manager)
                return
