"""The money of the demo: open days, shops' orders, walk-ins, credits, bills."""

from datetime import date, timedelta
from functools import partial

from fraginv.costs.actions import add_bill
from fraginv.costs.rules import BillItem
from fraginv.front.demo import cast
from fraginv.front.demo.agenda import Agenda, days_before
from fraginv.front.demo.stage import Scene
from fraginv.stock.models import Frag
from fraginv.stock.queries.frags import saleable_frags
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Sale
from fraginv.trade.queries.papers import get_sale
from fraginv.trade.rules.asked import CreditItem, SaleItem
from fraginv.trade.rules.words import Channel, Means

SHOPS = tuple(buyer.name for buyer in cast.BUYERS if buyer.kind == "shop")
VISITORS = tuple(buyer.name for buyer in cast.BUYERS if buyer.kind == "retail")
FIRST_SALE_AFTER = 75
KEEP_AT_HAND = 16


class Desk:
    """Sell on open days and to shops, take money, credit what died, enter bills."""

    def __init__(self, scene: Scene, agenda: Agenda) -> None:
        self.scene = scene
        self.agenda = agenda

    def plan(self) -> None:
        """Put every sale and bill of the fourteen months on the agenda."""
        last = cast.MONTHS * 30
        for days in range(last - FIRST_SALE_AFTER, 0, -cast.OPEN_DAY_EVERY.days):
            self.agenda.add(days_before(self.agenda.today, days), self.open_day, hour=14)
        for days in range(last - FIRST_SALE_AFTER - 9, 0, -13):
            self.agenda.add(days_before(self.agenda.today, days), self.shop_order, hour=15)
        day = days_before(self.agenda.today, last)
        while day <= self.agenda.today:
            for cost in cast.costs():
                if cost.day == day.day:
                    self.agenda.add(day, partial(self.bill, cost), hour=16)
            day += timedelta(days=1)

    def at_hand(self, most: int) -> list[Frag]:
        """Return some pieces that are for sale, leaving a stock behind."""
        frags = list(saleable_frags().order_by("ready_on", "pk"))
        spare = max(0, len(frags) - KEEP_AT_HAND)
        lots = [frag for frag in frags if frag.is_lot][:1]
        others = [frag for frag in frags if frag not in lots]
        chosen = self.scene.chance.sample(others, min(most, spare, len(others)))
        return lots + chosen

    def items(self, frags: list[Frag], *, most_of_lot: int) -> list[SaleItem]:
        """Ask for one of each frag, and for some pieces of a lot."""
        chance = self.scene.chance
        return [
            SaleItem(frag.pk, min(frag.free, chance.randint(1, most_of_lot)) if frag.is_lot else 1)
            for frag in frags
        ]

    def open_day(self, day: date) -> None:
        """Sell to visitors, most of them without a name."""
        chance = self.scene.chance
        for visitor in range(chance.randint(3, 6)):
            frags = self.at_hand(chance.randint(1, 2))
            if not frags:
                return
            name = chance.choice(VISITORS) if visitor == 0 else None
            sale = post_sale(
                self.items(frags, most_of_lot=3),
                by=self.scene.seller,
                channel=Channel.OPEN_DAY,
                customer=self.scene.customers[name] if name else None,
            )
            means = Means.CASH if chance.random() < 0.5 else Means.CARD
            take_payment(sale.pk, amount=sale.total, means=means, by=self.scene.seller)

    def shop_order(self, day: date) -> None:
        """Sell to a shop, paid some days later."""
        chance = self.scene.chance
        frags = self.at_hand(chance.randint(3, 5))
        if not frags:
            return
        sale = post_sale(
            self.items(frags, most_of_lot=8),
            by=self.scene.seller,
            channel=Channel.ORDER,
            customer=self.scene.customers[chance.choice(SHOPS)],
        )
        if chance.random() < 0.2:
            self.agenda.add(day + timedelta(days=1), partial(self.credit, sale), hour=9)
        self.agenda.add(
            day + timedelta(days=chance.randint(6, 24)), partial(self.pay, sale), hour=12
        )

    def credit(self, sale: Sale, day: date) -> None:
        """Credit one piece that arrived dead."""
        line = sale.lines.order_by("position").first()
        if line is not None:
            credit_sale(
                sale.pk,
                items=[CreditItem(line.pk, pieces=1)],
                reason="dead on arrival, photo seen",
                by=self.scene.manager,
            )

    def pay(self, sale: Sale, day: date) -> None:
        """Take what is owed on a sale, by transfer."""
        owed = get_sale(sale.pk).balance.owed
        if owed:
            take_payment(sale.pk, amount=owed, means=Means.TRANSFER, by=self.scene.manager)

    def bill(self, cost: cast.Cost, day: date) -> None:
        """Enter a month's bill; lamps come only in some months."""
        amount = cost.least + self.scene.chance.randrange(cost.spread)
        if not cost.least and self.scene.chance.random() < 0.7:
            return
        add_bill(
            [BillItem(cost.kind, amount)],
            day=day,
            supplier=cost.supplier,
            serves=cost.serves,
            by=self.scene.manager,
        )
