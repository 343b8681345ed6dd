"""Forty clients on ten frags and one lot, over HTTP, against several server processes."""

import random
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from threading import Barrier
from time import sleep
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.db import connections

from fraginv.base import clock
from fraginv.base.actions.founding import add_person
from fraginv.base.models import Person
from fraginv.base.rules.roles import Role
from fraginv.ledger.queries import ledger_differences
from fraginv.stock.models import Claim, Frag, FragEvent
from fraginv.stock.queries.differences import stock_differences
from fraginv.trade.actions.pricing import set_price, set_tax_rate
from fraginv.trade.models import Credit, Sale, SaleLine
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.queries.prices import get_kind
from fraginv.trade.rules.words import Basis
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.factories import make_colony, make_frags, make_lot
from tests.serving import Answered, Caller, serving

CLIENTS = 40
ROUNDS = 10
WORKERS = 3
FRAGS = 10
LOT = 30
PRICE = 1000
REFUSED = {400, 404, 409}
NEW_YORK = ZoneInfo("America/New_York")


@dataclass
class Client:
    """One customer's seller, what they did, and what the server said to it."""

    name: str
    caller: Caller
    chance: random.Random
    frags: list[Frag]
    said: Counter[str] = field(default_factory=Counter)

    def run(self, barrier: Barrier) -> "Client":
        """Do several things, one after another, at the same time as everybody else."""
        barrier.wait()
        try:
            for _ in range(ROUNDS):
                deed = self.chance.choice(
                    [self.hold, self.hold, self.sell_held, self.sell_free, self.let_go, self.credit]
                )
                deed()
        finally:
            connections.close_all()
        return self

    def note(self, deed: str, answer: Answered) -> None:
        """Remember how it went; nothing but done or refused is an answer."""
        assert answer.status == 303 or answer.status in REFUSED, answer.text[:2000]
        self.said[f"{deed} {'done' if answer.status == 303 else 'refused'}"] += 1

    def hold(self) -> None:
        frag = self.chance.choice(self.frags)
        pieces = self.chance.randint(1, 4) if frag.is_lot else 1
        seconds = self.chance.choice([1, 2, 600])
        until = (clock.now() + timedelta(seconds=seconds)).astimezone(NEW_YORK)
        fields = {
            "pieces": pieces,
            "name": self.name,
            "kind": "named",
            "until": f"{until:%Y-%m-%d %H:%M:%S}",
        }
        self.note("hold", self.caller.post(f"/trade/hold/{frag.code_id}", fields))

    def sell_held(self) -> None:
        holds = Claim.objects.filter(
            for_name=self.name, ended_at__isnull=True, until__gt=clock.now()
        ).exclude(kind="sale")
        pieces = sum(holds.values_list("pieces", flat=True))
        if pieces:
            self.sell("sell held", pieces=pieces)

    def sell_free(self) -> None:
        frag = self.chance.choice(self.frags)
        if not Claim.objects.filter(for_name=self.name, ended_at__isnull=True).exists():
            self.sell("sell free", pieces=1, codes=[frag.code_id])

    def sell(self, deed: str, *, pieces: int, codes: list[str] | None = None) -> None:
        fields = {
            "step": "sell",
            "channel": "counter",
            "name": self.name,
            "means": "cash",
            "codes": codes or [],
            "seen": pieces * PRICE,
        }
        key = str(uuid4())
        answer = self.caller.post("/trade/sell", fields, key=key)
        self.note(deed, answer)
        if answer.status == 303:
            again = self.caller.post("/trade/sell", fields, key=key)
            assert (again.status, again.location) == (303, answer.location)

    def let_go(self) -> None:
        hold = (
            Claim.objects.filter(for_name=self.name, ended_at__isnull=True)
            .exclude(kind="sale")
            .first()
        )
        if hold is not None:
            self.note("let go", self.caller.post(f"/trade/let-go/{hold.pk}", {}))

    def credit(self) -> None:
        line = SaleLine.objects.filter(sale__paper_name__name=self.name).order_by("?").first()
        if line is None:
            return
        fields = {
            "reason": "came back",
            "refund_means": "cash",
            f"line{line.pk}-pieces": 1,
            f"line{line.pk}-alive": 1,
        }
        self.note("credit", self.caller.post(f"/trade/sales/{line.sale_id}/credit", fields))


@pytest.fixture
def priced(transactional_db: None, people: People) -> tuple[list[Frag], list[Person]]:
    """Ten frags and one lot, ready and priced, and five sellers."""
    manager = people[Role.MANAGER]
    colony = make_colony(manager)
    frags = make_frags(manager, FRAGS, colony=colony, ready=True)
    frags.append(make_lot(manager, LOT, colony=colony, ready=True))
    set_price(PRICE, kind=get_kind(), variety=colony.variety, by=manager)
    set_tax_rate(Decimal(0), basis=Basis.INVOICE, by=manager)
    sellers = [
        add_person(f"seller{n}", name=f"Seller {n}", role=Role.SELLER, password=PASSWORD)
        for n in range(4)
    ]
    return frags, [people[Role.SELLER], *sellers]


@pytest.fixture
def port(priced: object) -> Iterator[int]:
    with serving(workers=WORKERS) as port:
        yield port


def test_nothing_is_promised_twice(priced: tuple[list[Frag], list[Person]], port: int) -> None:
    frags, sellers = priced
    clients = [
        Client(
            name=f"Client {n}",
            caller=Caller(sellers[n % len(sellers)], port=port),
            chance=random.Random(n),
            frags=[frags[-1], *random.Random(n).sample(frags, 5)],
        )
        for n in range(CLIENTS)
    ]
    barrier = Barrier(CLIENTS)
    with ThreadPoolExecutor(CLIENTS) as pool:
        said: Counter[str] = Counter()
        for done in pool.map(lambda client: client.run(barrier), clients):
            said.update(done.said)
    sleep(2)
    for code in {frag.code_id for frag in frags}:
        clients[0].caller.post(f"/trade/hold/{code}", {"pieces": 1, "name": "Last", "kind": "walk"})

    assert_each_mixed_in(said)
    assert Claim.objects.filter(ended_how="ran out").exists()
    for frag in Frag.objects.all():
        assert_pieces_kept(frag)
    assert_money_follows_pieces()
    found = [*stock_differences(), *trade_differences(), *ledger_differences()]
    assert not found, [str(one) for one in found]


def assert_each_mixed_in(said: Counter[str]) -> None:
    """Every kind of deed was done, and the contested ones were refused as well."""
    for deed in ("hold", "sell held", "sell free", "let go", "credit"):
        assert said[f"{deed} done"], said
    for deed in ("hold", "sell free"):
        assert said[f"{deed} refused"], said


def assert_pieces_kept(frag: Frag) -> None:
    """Follow one frag's events by plain arithmetic, apart from the product's own replay."""
    events = list(FragEvent.objects.filter(frag=frag).order_by("seq"))
    pieces = free = 0
    for seq, event in enumerate(events, start=1):
        assert event.seq == seq
        count = event.body.get("pieces", 0)
        if event.kind == "cut":
            pieces, free = count, count
        elif event.kind == "held":
            free -= count
        elif event.kind == "let go":
            free += count
        elif event.kind == "sold":
            pieces -= count
            free += event.body.get("held", 0) - count
        elif event.kind == "returned":
            pieces += count
            free += count
        assert 0 <= free <= pieces, (frag.code_id, seq, event.kind, free, pieces)
    assert (frag.pieces, frag.free) == (pieces, free)


def assert_money_follows_pieces() -> None:
    """What left the troughs is what was paid for, and what came back was paid back."""
    started = FRAGS + LOT
    here = sum(Frag.objects.values_list("pieces", flat=True))
    sold = sum(SaleLine.objects.values_list("quantity", flat=True))
    back = sum(Claim.objects.values_list("back", flat=True))
    assert started == here + sold - back
    assert sum(Sale.objects.values_list("total", flat=True)) == sold * PRICE
    assert sum(Credit.objects.values_list("net", flat=True)) == back * PRICE
    numbers = sorted(Sale.objects.values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
