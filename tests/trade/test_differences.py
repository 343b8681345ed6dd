"""``verify`` sees each fault that is planted in the trade's tables."""

import pytest
from django.db import connection

from fraginv.stock.models import Claim
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Balance, Credit, Customer, Sale
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.rules.asked import SaleItem, Tender
from fraginv.trade.rules.words import Means
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.trade.rows import Shop, open_shop

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def papers(shop: Shop) -> tuple[Sale, Credit]:
    """A sale that is paid, and one that is credited."""
    lot = shop.priced_lot(20)
    paid, credited = shop.sell(lot, 2), shop.sell(lot, 3, paid=1000)
    take_payment(paid.pk, amount=2125, means=Means.CARD, by=shop.seller)
    return paid, credit_sale(credited.pk, by=shop.seller, alive=True, refund_means=Means.CASH)


def plant(statement: str) -> None:
    """Change rows behind the house's back."""
    with connection.cursor() as cursor:
        cursor.execute(statement)
        assert cursor.rowcount >= 1


def test_nothing_differs_as_it_was_written(papers: tuple[Sale, Credit]) -> None:
    assert not list(trade_differences())


FAULTS = {
    "total": (
        "UPDATE trade_sale SET net = net + 1, gross = gross + 1, total = total + 1 "
        "WHERE number = 1",
        "its lines add up to",
    ),
    "line": (
        "UPDATE trade_saleline SET tax = tax + 1 WHERE id = (SELECT MIN(id) FROM trade_saleline)",
        "its lines add up to",
    ),
    "month": (
        "UPDATE trade_sale SET month = 202001 WHERE number = 1",
        "counts in the month 202001",
    ),
    "line's month": ("UPDATE trade_saleline SET month = 202001", "counts in 202001"),
    "balance": ("UPDATE trade_balance SET owed = owed + 1", "its payments and credits leave"),
    "credit": (
        "UPDATE trade_credit SET net = net - 1, tax = tax + 1",
        "its lines add up to",
    ),
    "credited too much": (
        "UPDATE trade_creditline SET pieces = pieces + 1",
        "4 for 3000 are credited",
    ),
    "payment's parts": ("UPDATE trade_taking SET amount = amount + 1", "its parts say"),
    "number": ("UPDATE trade_sale SET number = 9 WHERE number = 1", "is missing from its series"),
    "counter": (
        "UPDATE base_numberseries SET last = 7 WHERE series = 'S'",
        "its counter stands at 7",
    ),
    "claim": ("UPDATE stock_claim SET pieces = pieces + 1", "stock gave 3 of"),
    "entry": ("UPDATE ledger_line SET amount = amount * 2", "its entry says"),
    "no entry": (
        "UPDATE ledger_entry SET paper = 'S-2026-0099' WHERE source = 'sale'",
        "no such paper",
    ),
    "credit line's group": (
        "UPDATE trade_creditline SET \"group\" = 'clam'",
        "credit C-2026-0001, for line 1: counts in 202611, counter, clam; should count in "
        "202611, counter, SPS",
    ),
    "credit line's channel": (
        "UPDATE trade_creditline SET channel = 'order'",
        "credit C-2026-0001, for line 1: counts in 202611, order, SPS",
    ),
    "credit line's month": (
        "UPDATE trade_creditline SET month = 202610",
        "credit C-2026-0001, for line 1: counts in 202610",
    ),
    "taking's month": (
        "UPDATE trade_taking SET month = 202610 WHERE payment_id IS NOT NULL",
        "payment P-2026-0001, for SPS: counts in 202610, counter; should count in 202611, counter",
    ),
    "taking's month of a credit": (
        "UPDATE trade_taking SET month = 202610 WHERE credit_id IS NOT NULL",
        "credit C-2026-0001, for SPS: counts in 202610",
    ),
    "taking's channel": (
        "UPDATE trade_taking SET channel = 'order' WHERE payment_id IS NOT NULL",
        "payment P-2026-0002, for SPS: counts in 202611, order",
    ),
    "taking's group": (
        "UPDATE trade_taking SET \"group\" = 'clam' WHERE sale_id = "
        "(SELECT id FROM trade_sale WHERE number = 1)",
        "sale S-2026-0001: 2000 is counted as received for clam, which is not its share of 2000",
    ),
    "counter behind": (
        "UPDATE base_numberseries SET last = 1 WHERE series = 'P'",
        "series P of 2026: goes up to 2, its counter stands at 1",
    ),
    "counter of what is gone": (
        "UPDATE base_numberseries SET series = 'IS' WHERE series = 'S'",
        "series IS of 2026: goes up to 0, its counter stands at 2",
    ),
    "tax rate": (
        "UPDATE trade_sale SET tax_rate = 0.07 WHERE number = 1",
        "sale S-2026-0001: says tax 125, its rate 0.070000 by invoice comes to 140",
    ),
    "tax rate by item": (
        "UPDATE trade_sale SET tax_rate = 0.07, tax_basis = 'item' WHERE number = 2",
        "sale S-2026-0002, line 1: says tax 188, its rate 0.070000 by item comes to 210",
    ),
    "sale's day": (
        "UPDATE trade_sale SET day = '2026-10-20', month = 202610 WHERE number = 1",
        "sale S-2026-0001: is of 2026-10-20, its entry was posted on 2026-11-25",
    ),
    "payment's day": (
        "UPDATE trade_payment SET day = '2026-11-24' WHERE number = 1",
        "payment P-2026-0001: is of 2026-11-24, its entry was posted on 2026-11-25",
    ),
    "credit's day": (
        "UPDATE trade_credit SET day = '2026-11-24'",
        "credit C-2026-0001: is of 2026-11-24, its entry was posted on 2026-11-25",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_planted_fault_is_named(papers: tuple[Sale, Credit], fault: str) -> None:
    statement, says = FAULTS[fault]
    plant(statement)
    told = [str(difference) for difference in trade_differences()]
    assert any(says in text for text in told), told


def test_sale_without_a_paper_and_credit_without_a_source(
    shop: Shop, papers: tuple[Sale, Credit]
) -> None:
    lot = papers[0].lines.get().frag
    assert lot is not None
    Claim.objects.create(frag=lot, pieces=1, kind="sale", by=shop.seller, made_at=papers[0].at)
    buyer = shop.customer()
    Customer.objects.filter(pk=buyer.pk).update(credit=5)
    Balance.objects.filter(sale=papers[0]).delete()
    told = " / ".join(str(difference) for difference in trade_differences())
    assert "1 pieces are taken as sold, and no sale holds them" in told
    assert f"customer {buyer.pk}: has a credit of 5, credits and payments leave 0" in told
    assert f"sale {papers[0].paper}: None is noted as owed" in told
    assert "account 2200: says that 0 is owed to customers, their credits come to 5" in told


def test_a_group_that_took_from_another_is_named(shop: Shop) -> None:
    zoanthid = make_colony(shop.manager, variety=make_variety(shop.manager, genus="Zoanthus"))
    two = [shop.priced_lot(5), shop.priced_lot(5, colony=zoanthid)]
    items = [SaleItem(two[0].pk, 1), SaleItem(two[1].pk, 2)]
    sale = post_sale(items, by=shop.seller, payment=Tender(Means.CASH, 2000))
    assert not list(trade_differences())
    plant(
        'UPDATE trade_taking SET "group" = '
        "CASE WHEN \"group\" = 'SPS' THEN 'zoanthid' ELSE 'SPS' END"
    )
    told, share = [str(one) for one in trade_differences()], "which is not its share of 1882"
    assert told == [
        f"sale {sale.paper}: 1255 is counted as received for SPS, {share}",
        f"sale {sale.paper}: 627 is counted as received for zoanthid, {share}",
        "sum taken/counter/SPS/amount, month 2026-11: is kept as 627, and comes to 1255",
        "sum taken/counter/zoanthid/amount, month 2026-11: is kept as 1255, and comes to 627",
    ]
