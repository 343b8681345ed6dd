"""``verify`` sees each fault that is planted in the trade's tables."""

import pytest
from django.db import connection

from fraginv.stock.models import Claim
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.models import Balance, Credit, Customer, Sale
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.rules.words import Means
from tests.conftest import People
from tests.trade.rows import Shop, open_shop


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
