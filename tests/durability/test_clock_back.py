"""The machine's clock jumps back a day: days are those it said, order and numbers go on."""

from datetime import UTC, date, datetime, timedelta

import pytest

from fraginv.base import clock
from fraginv.front.queries.differences import differences
from fraginv.ledger.models import Entry
from fraginv.stock.actions.claims import hold_frag
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.models import Frag
from fraginv.stock.rules.holds import ClaimKind
from fraginv.trade.models import Sale
from tests.conftest import People
from tests.factories import make_frags
from tests.trade.rows import Shop, open_shop

NOON = datetime(2026, 11, 25, 17, tzinfo=UTC)
NEW_YEAR = datetime(2027, 1, 1, 17, tzinfo=UTC)
BACK = timedelta(days=1)


@pytest.fixture
def shop(people: People) -> Shop:
    with clock.at(NOON - timedelta(days=2)):
        return open_shop(people)


def sell_around(shop: Shop, lot: Frag, *, moment: datetime) -> list[Sale]:
    """Sell before the jump, after it, and once the clock is right again."""
    sales = []
    for at in (moment, moment - BACK, moment + timedelta(hours=1)):
        with clock.at(at):
            sales.append(shop.sell(lot, 1, paid=1063))
    return sales


def test_numbers_events_and_entries_go_on(shop: Shop) -> None:
    with clock.at(NOON - timedelta(days=1)):
        lot = shop.priced_lot(5)
    sales = sell_around(shop, lot, moment=NOON)
    assert [sale.number for sale in sales] == [1, 2, 3]
    assert [sale.day.day for sale in sales] == [25, 24, 25]
    events = list(lot.events.order_by("seq"))
    assert [event.seq for event in events] == list(range(1, len(events) + 1))
    numbers = list(Entry.objects.order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    assert list(differences()) == []


def test_at_the_turn_of_the_year_each_series_stays_without_gaps(shop: Shop) -> None:
    with clock.at(NEW_YEAR - timedelta(days=2)):
        lot = shop.priced_lot(5)
    sales = sell_around(shop, lot, moment=NEW_YEAR)
    assert [(sale.year, sale.number) for sale in sales] == [(2027, 1), (2026, 1), (2027, 2)]
    assert list(differences()) == []


def test_a_hold_lasts_longer_and_ends_at_the_moment_it_was_given(shop: Shop) -> None:
    with clock.at(NOON - timedelta(days=1)):
        lot = shop.priced_lot(1)
    with clock.at(NOON):
        held = hold_frag(lot.pk, pieces=1, kind=ClaimKind.WALK, by=shop.seller, for_name="Ida")
    assert held.until == NOON + timedelta(minutes=30)
    with clock.at(NOON - BACK):
        assert Frag.objects.get(pk=lot.pk).free == 0, "Nobody loses what was promised."
    with clock.at(NOON + timedelta(minutes=31)):
        assert shop.sell(lot, 1).total == 1063
    assert list(differences()) == []


def test_a_cutting_and_a_loss_the_day_before(shop: Shop) -> None:
    with clock.at(NOON):
        frag = make_frags(shop.manager, 1, ready=True)[0]
    with clock.at(NOON - BACK):
        record_loss(frag.pk, pieces=1, cause="unknown", by=shop.manager)
    frag.refresh_from_db()
    assert (frag.pieces, frag.ended_on) == (0, date(2026, 11, 24))
    assert list(differences()) == []
