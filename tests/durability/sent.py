"""Clients that post sales without pause, and what each of them knows of what it sent."""

import random
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from http.client import HTTPException
from queue import Empty, SimpleQueue

from fraginv.stock.models import Frag
from fraginv.trade.actions.pricing import set_price
from tests.factories import make_frags
from tests.serving import Caller
from tests.trade.rows import LONG_AGO, Shop

# 6.25 % of 16.00 are 1.00, so that a total needs no rounding.
PRICE, TAX = 1600, 100
LOTS, LOT_PIECES, LEAST_PIECES = 4, 500, 150
SINGLES = 24
AWAY = 503


@dataclass
class Sent:
    """A sale that was sent: what it asked for, and what came back.

    ``location`` is empty where no answer came; ``status`` is 0 then, and else
    that of an answer which said that it was not done or that nobody knows.
    """

    caller: Caller
    form: Mapping[str, object]
    wanted: Mapping[str, int]
    is_paid: bool
    key: str = field(default_factory=lambda: str(uuid.uuid4()))
    location: str = ""
    status: int = 0
    said: str = ""
    at: float = 0.0

    def send(self) -> bool:
        """Send the form, the first time or again; tell whether it was answered as done."""
        self.location, self.status, self.said = "", 0, ""
        try:
            answer = self.caller.post("/trade/sell", self.form, key=self.key)
        except (OSError, HTTPException) as error:
            self.said = repr(error)
        else:
            self.status, self.said = answer.status, answer.text
            self.location = answer.location if answer.status == 303 else ""
        self.at = time.monotonic()
        return bool(self.location)

    @property
    def total(self) -> int:
        """Return what it comes to with tax, in minor units."""
        return sum(self.wanted.values()) * (PRICE + TAX)


@dataclass
class Stock:
    """What there is to sell: lots, and frags of one piece of which each is asked for once."""

    shop: Shop
    lots: list[str] = field(default_factory=list)
    singles: SimpleQueue[str] = field(default_factory=SimpleQueue)
    began_with: dict[str, int] = field(default_factory=dict)

    def fill(self) -> None:
        """Cut as many lots and frags as a round may need."""
        left = Frag.objects.filter(code__in=self.lots, free__gte=LEAST_PIECES)
        self.lots = list(left.values_list("code_id", flat=True))
        while len(self.lots) < LOTS:
            self.lots.append(self.add(self.shop.priced_lot(LOT_PIECES, price=PRICE)))
        if self.singles.qsize() < SINGLES // 2:
            for frag in self.priced_frags():
                self.singles.put(self.add(frag))

    def priced_frags(self) -> list[Frag]:
        """Cut ready frags of one variety, each of one piece, and set their price."""
        manager = self.shop.manager
        frags = make_frags(manager, SINGLES, ready=True)
        variety = frags[0].variety
        set_price(PRICE, kind=self.shop.retail, variety=variety, first_day=LONG_AGO, by=manager)
        return frags

    def add(self, frag: Frag) -> str:
        """Remember how many pieces a frag began with."""
        self.began_with[frag.code_id] = frag.pieces
        return frag.code_id

    def ask(self, chance: random.Random) -> dict[str, int]:
        """Choose what one sale asks for: pieces by code, of one lot or two, often with a frag."""
        lots = chance.sample(self.lots, chance.randint(1, 2))
        wanted = {code: chance.randint(1, 3) for code in lots}
        if chance.random() < 0.5:
            try:
                wanted[self.singles.get_nowait()] = 1
            except Empty:
                return wanted
        return wanted


def new_sale(caller: Caller, wanted: Mapping[str, int], *, is_paid: bool) -> Sent:
    """Return a sale that is yet to be sent: for cash, or for a name to be paid later."""
    total = sum(wanted.values()) * (PRICE + TAX)
    form: dict[str, object] = {
        "channel": "counter",
        "means": "cash" if is_paid else "later",
        "name": "" if is_paid else "Ida at the gate",
        "codes": list(wanted),
        "seen": total,
        "step": "sell",
        **{f"pieces-code-{code}": pieces for code, pieces in wanted.items()},
    }
    return Sent(caller, form, wanted, is_paid)


def send_on(
    caller: Caller, stock: Stock, *, chance: random.Random, note: Callable[[], None]
) -> Iterator[Sent]:
    """Sell on until an answer does not come; yield each sale as it was sent.

    Args: ``note`` is told of each one that was answered.
    """
    is_answered = True
    while is_answered:
        one = new_sale(caller, stock.ask(chance), is_paid=chance.random() < 0.7)
        is_answered = one.send()
        if is_answered:
            note()
        yield one
