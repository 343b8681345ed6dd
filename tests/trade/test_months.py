"""What a month adds up to, on either basis."""

from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.ledger.queries import account_totals
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Sale
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.queries.months import income_of_months, sales_of_month
from fraginv.trade.rules.asked import CreditItem, SaleItem
from fraginv.trade.rules.words import Channel, Means
from tests.conftest import People
from tests.factories import make_colony, make_variety
from tests.trade.rows import Shop, open_shop

OCTOBER, NOVEMBER = date(2026, 10, 20), date(2026, 11, 5)

pytestmark = pytest.mark.usefixtures("frozen")


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


@pytest.fixture
def sale(shop: Shop) -> Sale:
    """In October: 4 zoanthids at 10.00 and 2 SPS at 33.33, 1.00 off, 6.25 % tax."""
    zoas = make_colony(shop.manager, variety=make_variety(shop.manager, genus="Zoanthus"))
    first, second = shop.priced_lot(10, colony=zoas), shop.priced_lot(10, price=3333)
    return post_sale(
        [SaleItem(first.pk, 4), SaleItem(second.pk, 2)],
        by=shop.seller,
        channel=Channel.ORDER,
        discount=100,
        day=OCTOBER,
    )


def test_sales_basis_counts_papers_in_their_own_months(shop: Shop, sale: Sale) -> None:
    line = sale.lines.get(position=1)
    credit_sale(sale.pk, by=shop.seller, items=[CreditItem(line.pk, 1)], day=NOVEMBER)
    october, november = sales_of_month(202610), sales_of_month(202611)
    assert (october.gross, october.discounts, october.net) == (10666, 100, 10566)
    assert october.by_group == {"zoanthid": 3962, "SPS": 6604}
    assert october.by_channel == {"order": 10566}
    assert (october.tax_collected, october.sold) == (sale.tax, 6)
    assert (november.gross, november.credits, november.net) == (0, 991, -991)
    assert november.by_group == {"zoanthid": -991}
    assert income_of_months(202601, last=202612) == {202610: 10566, 202611: -991}


def test_cash_basis_counts_what_was_received_for_goods(shop: Shop, sale: Sale) -> None:
    take_payment(sale.pk, amount=5000, means=Means.CARD, by=shop.seller, day=OCTOBER)
    take_payment(sale.pk, amount=sale.total - 5000, means=Means.CASH, by=shop.seller, day=NOVEMBER)
    october = sales_of_month(202610, basis="cash")
    november = sales_of_month(202611, basis="cash")
    # 50.00 of 112.26 paid: 50.00 x 105.66 / 112.26 = 47.0604...
    assert (october.net, october.tax_collected) == (4706, 294)
    assert october.net + november.net == sale.net
    assert october.tax_collected + november.tax_collected == sale.tax
    for group, net in {"zoanthid": 3962, "SPS": 6604}.items():
        assert october.by_group[group] + november.by_group[group] == net
    for month in (october, november):
        assert sum(month.by_group.values()) == sum(month.by_channel.values()) == month.net
    assert october.receipts_by_means == {"card": 5000}
    assert november.receipts_total == sale.total - 5000
    assert income_of_months(202610, last=202611, basis="cash") == {
        202610: october.net,
        202611: november.net,
    }


def test_cash_basis_gives_back_what_a_credit_refunds(shop: Shop, sale: Sale) -> None:
    take_payment(sale.pk, amount=sale.total, means=Means.CARD, by=shop.seller, day=OCTOBER)
    credit = credit_sale(
        sale.pk,
        by=shop.seller,
        items=[CreditItem(sale.lines.get(position=2).pk, 2)],
        refund_means=Means.CASH,
        day=NOVEMBER,
    )
    november = sales_of_month(202611, basis="cash")
    assert (november.gross, november.credits, november.net) == (0, 6604, -6604)
    assert november.by_group == {"SPS": -6604}
    assert november.receipts_by_means == {"cash": -credit.total}
    assert november.tax_collected == -credit.tax
    assert not list(trade_differences())


def test_same_figures_come_from_the_entries(shop: Shop, sale: Sale) -> None:
    take_payment(sale.pk, amount=700, means=Means.CHEQUE, by=shop.seller, day=OCTOBER)
    credit_sale(
        sale.pk, by=shop.seller, items=[CreditItem(sale.lines.get(position=1).pk, 2)], day=OCTOBER
    )
    found = sales_of_month(202610)
    totals = {total.code: total.credit - total.debit for total in account_totals(202610)}
    assert sum(amount for code, amount in totals.items() if code.startswith("4")) == found.net
    assert totals["2100"] == found.tax_collected
    assert -totals["4900"] == found.credits
    assert -totals["1030"] == 700


def test_empty_month(shop: Shop) -> None:
    found = sales_of_month(202001)
    assert (found.net, found.receipts_total, found.by_group, found.sold) == (0, 0, {}, 0)


def test_statements_for_a_month(
    shop: Shop, sale: Sale, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(4):
        sales_of_month(202610)
    with django_assert_max_num_queries(5):
        sales_of_month(202610, basis="cash")
