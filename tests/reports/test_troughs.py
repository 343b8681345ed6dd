"""A month's pieces against a replay of every frag's own events."""

import random
from collections.abc import Iterator
from datetime import date

import pytest

from fraginv.base import clock
from fraginv.base.rules.days import month_bounds
from fraginv.reports.queries.troughs import frag_figures, ready_at_end
from fraginv.stock.actions.cuttings import cut_colony, receive_frag
from fraginv.stock.actions.grading import grade_frags
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag
from fraginv.stock.queries.differences import stock_differences
from fraginv.stock.rules.events import replay
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.models import Sale
from fraginv.trade.rules.asked import CreditItem
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.reports.rows import NOVEMBER, noon_of, november
from tests.trade.rows import Shop, open_shop

MONTHS = (202607, 202608, 202609, 202610, NOVEMBER)


@pytest.fixture
def shop(people: People) -> Iterator[Shop]:
    with november():
        yield open_shop(people)


def test_cut_lost_and_sold_are_counted_apart(shop: Shop) -> None:
    colony = make_colony(shop.manager)
    cut_colony(colony.pk, pieces=12, lost=1, by=shop.manager)
    receive_frag(colony.variety, pieces=5, by=shop.manager)
    lot = shop.priced_lot(30)
    record_loss(lot.pk, pieces=3, cause="pest", by=shop.manager)
    found = frag_figures(NOVEMBER, sold=7)
    assert (found.cut, found.lost, found.lost_at_bench) == (12 + 5 + 30, 3, 1)
    assert (found.sold, found.ready_at_end) == (7, 27)
    assert frag_figures(202610, sold=0).cut == 0


def test_what_came_back_alive_stands_again_and_what_came_back_dead_does_not(shop: Shop) -> None:
    with clock.at(noon_of(202609)):
        lot = shop.priced_lot(10)
    with clock.at(noon_of(202610)):
        sale = shop.sell(lot, 6)
    line = sale.lines.get()
    for alive in (1, 0):
        credit_sale(sale.pk, items=[CreditItem(line.pk, pieces=1, alive=alive)], by=shop.manager)
    assert [ready_at_end(month) for month in (202608, 202609, 202610, NOVEMBER)] == [0, 10, 4, 5]


def stood_ready(day: date) -> int:
    """Count the pieces that stood ready at the end of a day by replaying all events up to it."""
    total = 0
    for frag in Frag.objects.all():
        events = frag.events.filter(day__lte=day).order_by("seq")
        state = replay(Happening(Kind(one.kind), one.day, one.body) for one in events)
        total += state.pieces if state.stage == "ready" else 0
    return total


class Crew:
    """Random cutting, grading, selling, losing and taking back."""

    def __init__(self, shop: Shop, *, seed: int) -> None:
        self.shop, self.chance = shop, random.Random(seed)
        self.variety = make_variety(shop.manager)
        self.colony = make_colony(shop.manager, variety=self.variety)
        self.lots = [shop.priced_lot(9, colony=self.colony)]
        self.sales: list[Sale] = []

    def cut(self) -> None:
        """Cut a few frags or one lot."""
        cut_colony(
            self.colony.pk,
            pieces=self.chance.randrange(1, 5),
            lot=self.chance.random() < 0.5,
            by=self.shop.manager,
        )

    def one_of(self, **fields: object) -> Frag | None:
        """Pick a living frag."""
        found = list(Frag.objects.filter(pieces__gt=0, **fields).order_by("pk"))
        return self.chance.choice(found) if found else None

    def grade(self) -> None:
        """Grade a frag ready, perhaps a second time."""
        frag = self.one_of()
        if frag:
            grade_frags([frag.pk], size=self.chance.choice("SML"), by=self.shop.manager)

    def sell(self) -> None:
        """Sell some of a frag's pieces."""
        frag = self.one_of(stage="ready")
        if frag:
            self.sales.append(self.shop.sell(frag, self.chance.randrange(1, frag.pieces + 1)))

    def lose(self) -> None:
        """Lose a piece."""
        frag = self.one_of()
        if frag:
            record_loss(frag.pk, pieces=1, cause="pest", by=self.shop.manager)

    def take_back(self) -> None:
        """Credit a whole sale, its pieces alive or dead."""
        if self.sales:
            sale = self.sales.pop(self.chance.randrange(len(self.sales)))
            alive = self.chance.random() < 0.6
            credit_sale(sale.pk, alive=alive, by=self.shop.manager)

    def live(self, month: int) -> None:
        """Let fourteen things happen in a month."""
        for step in range(14):
            with clock.at(noon_of(month, 1 + step)):
                self.chance.choice(
                    (self.cut, self.grade, self.grade, self.sell, self.lose, self.take_back)
                )()


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_ready_at_the_end_of_each_month_is_what_a_replay_says(shop: Shop, seed: int) -> None:
    with clock.at(noon_of(202606)):
        crew = Crew(shop, seed=seed)
    for month in MONTHS:
        crew.live(month)
    assert not list(stock_differences())
    by_replay = [stood_ready(month_bounds(month)[1]) for month in MONTHS]
    assert [ready_at_end(month) for month in MONTHS] == by_replay
    assert len(set(by_replay)) > 2


def test_losses_of_random_lives_are_what_the_events_say(shop: Shop) -> None:
    with clock.at(noon_of(202606)):
        crew = Crew(shop, seed=7)
    for month in MONTHS:
        crew.live(month)
        lost = [
            event.body["pieces"]
            for frag in Frag.objects.all()
            for event in frag.events.filter(kind="lost", month=month)
        ]
        assert frag_figures(month, sold=0).lost == sum(lost)
