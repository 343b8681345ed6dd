"""The month out of real papers, on both bases, against published worked examples."""

from collections.abc import Iterator
from datetime import date

import pytest
from pytest_django import DjangoAssertNumQueries

from fraginv.base import clock
from fraginv.base.errors import InputError
from fraginv.costs.actions import pay_bill
from fraginv.reports.queries.months import (
    month_figures,
    month_trend,
    read_past_month,
)
from fraginv.reports.rules.figures import MonthFigures, month_document
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.rules.asked import CreditItem
from fraginv.trade.rules.words import Channel, Means
from tests.conftest import People
from tests.reports.rows import NOVEMBER, Story, bill, noon_of, november
from tests.trade.rows import Shop, open_shop


@pytest.fixture(autouse=True)
def frozen() -> Iterator[None]:
    with november():
        yield


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def figures(basis: str = "sales", month: int = NOVEMBER) -> MonthFigures:
    """Return the figures of November."""
    return month_figures(month, basis=basis)


def test_a_cash_sale_of_a_published_example(people: People) -> None:
    """18,000.00 at 6 %: tax 1,080.00, cash 19,080.00; tax is never revenue.

    Source: OpenStax, Principles of Accounting vol. 1 (2019), section 12.2.
    """
    shop = open_shop(people, rate="0.06")
    lot = shop.priced_lot(30, price=60_000)
    shop.sell(lot, 30, paid=1_908_000)
    for basis in ("sales", "cash"):
        month = figures(basis)
        assert (month.net, month.tax_collected, month.receipts) == (1_800_000, 108_000, 1_908_000)
        # Net sales = receipts less sales tax where all is paid at once.
        # Source: record-keeping example of IRS Publication 583.
        assert month.net == month.receipts - month.tax_collected


def test_returns_and_allowances_of_a_published_example(people: People) -> None:
    """250 at 150 for cash, 40 come back, 20 kept at 10 off each: 37,500 - 6,000 - 200.

    Source: OpenStax, Principles of Accounting vol. 1 (2019), sections 6.1 and 6.4:
    net sales = gross sales - discounts - returns - allowances.
    """
    shop = open_shop(people, rate="0")
    lot = shop.priced_lot(250, price=15_000)
    sale = shop.sell(lot, 250, paid=3_750_000)
    line = sale.lines.get()
    for item in (
        CreditItem(line.pk, pieces=40, alive=40),
        CreditItem(line.pk, allowance=20 * 1_000),
    ):
        credit_sale(sale.pk, items=[item], refund_means=Means.CASH, by=shop.manager)
    month = figures()
    assert (month.gross, month.credits, month.net) == (3_750_000, 620_000, 3_130_000)
    assert month.receipts_by_means == {"cash": 3_750_000 - 620_000}
    assert figures("cash").net == 3_130_000


@pytest.mark.parametrize(("units", "result"), [(225, 0), (425, 1_600_000), (300, 600_000)])
def test_the_result_of_a_published_example(people: People, units: int, result: int) -> None:
    """Sold at 100, 20 of it variable, 18,000 fixed: 225 break even, 425 earn 16,000.

    Source: OpenStax, Principles of Accounting vol. 2: Managerial (2019), section 3.2.
    Variable cost is the frags' direct cost, fixed cost the display's running cost.
    """
    shop = open_shop(people, rate="0")
    shop.sell(shop.priced_lot(units, price=10_000), units)
    bill(shop, units * 2_000, kind="plugs", serves="frags")
    bill(shop, 1_800_000)
    month = figures()
    assert month.result == result
    assert (month.share_carried_net == 1) is (result == 0)


def test_a_month_of_sales_bills_and_a_credit(shop: Shop) -> None:
    lot = shop.priced_lot(30, price=1_000)
    sale = shop.sell(lot, 10, off=500, channel=Channel.OPEN_DAY, paid=9_000)
    shop.sell(lot, 2)
    line = sale.lines.get()
    credit_sale(sale.pk, items=[CreditItem(line.pk, pieces=1)], by=shop.manager)
    bill(shop, 40_000)
    bill(shop, 10_000, kind="lamps", serves="shared")
    bill(shop, 3_000, kind="labour", settled="in_kind")
    document = month_document(figures())
    assert document["income"] == {
        "gross": 12_000,
        "discounts": 500,
        "credits": 950,
        "net": 10_550,
        "by_channel": {"open day": 8_550, "counter": 2_000},
        "by_group": {"SPS": 10_550},
    }
    # 6.25 % of 9,500 is 593.75, of 2,000 is 125; 59.375 of the credited piece go back.
    assert document["tax_collected"] == 594 + 125 - 59
    assert document["running_costs"] == {
        "total": 45_000,
        "by_kind": {"electricity": 40_000, "lamps": 5_000},
        "metered": 0,
        "in_kind": 3_000,
    }
    assert document["direct_costs"] == {"total": 5_000, "by_kind": {"lamps": 5_000}}
    assert (document["share_carried"], document["share_carried_net"]) == ("0.2344", "0.1233")
    assert document["result"] == 10_550 - 5_000 - 45_000
    assert document["frags"] == {"cut": 30, "lost": 0, "sold": 12, "ready_at_end": 18}
    assert document["owed_to_owners"] == 0


def test_the_cash_basis_counts_what_came_and_went(shop: Shop) -> None:
    lot = shop.priced_lot(30, price=1_000)
    with clock.at(noon_of(202610)):
        sale = shop.sell(lot, 8)
        owed = bill(shop, 20_000, settled="owed", day=date(2026, 10, 12))
    take_payment(sale.pk, amount=4_250, means=Means.CARD, by=shop.seller)
    pay_bill(owed.pk, by=shop.manager)
    assert (figures("cash").net, figures("cash").running) == (4_000, 20_000)
    assert (figures("sales").net, figures("sales").running) == (0, 0)
    october = figures("sales", month=202610)
    assert (october.net, october.running) == (8_000, 20_000)
    assert figures("cash", month=202610).is_empty is False  # pieces were sold in it
    assert figures("cash", month=202610).net == 0


def test_a_month_without_costs_has_no_share(shop: Shop) -> None:
    shop.sell(shop.priced_lot(5), 1)
    document = month_document(figures())
    assert (document["share_carried"], document["share_carried_net"]) == (None, None)


def test_an_empty_month_is_all_zero(shop: Shop) -> None:
    month = figures(month=202603)
    assert month.is_empty
    assert (month.net, month.result, month.frags.cut) == (0, 0, 0)


def test_channels_and_groups_each_add_up_to_net(shop: Shop) -> None:
    story = Story(shop, seed=11)
    story.live(202608, 202609, 202610)
    for month in (202608, 202609, 202610, NOVEMBER):
        for basis in ("sales", "cash"):
            found = figures(basis, month=month)
            assert sum(found.by_channel.values()) == found.net
            assert sum(found.by_group.values()) == found.net
            assert found.result == found.net - found.direct - found.running


@pytest.mark.parametrize(
    ("text", "words"),
    [
        pytest.param("2026-13", "There is no month 2026-13", id="no month"),
        pytest.param("2026-12", "2026-12 has not come yet. The latest month is 2026-11", id="next"),
        pytest.param("November", "write it as in 2026-11", id="a word"),
    ],
)
def test_a_month_that_cannot_be_shown_is_refused(shop: Shop, text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_past_month(text)


def test_a_month_to_come_and_a_strange_basis_are_refused(shop: Shop) -> None:
    assert read_past_month("2026-11") == NOVEMBER
    with pytest.raises(InputError, match="has not come yet"):
        figures(month=202612)
    with pytest.raises(InputError, match="no basis of a month"):
        figures("accrual")


def test_the_trend_has_twelve_months_and_the_same_figures(shop: Shop) -> None:
    story = Story(shop, seed=4)
    story.live(202609, 202610)
    for basis in ("sales", "cash"):
        trend = month_trend(NOVEMBER, basis=basis)
        assert [one.month for one in trend] == [202512, *range(202601, 202612)]
        for one in trend[-4:]:
            month = figures(basis, month=one.month)
            assert (one.income, one.running) == (month.net, month.running)
            assert one.share == month.share_carried


@pytest.mark.parametrize(("basis", "most"), [("sales", 11), ("cash", 12)])
@pytest.mark.parametrize("month", [202610, NOVEMBER])
def test_ten_times_the_papers_take_no_more_statements(
    shop: Shop,
    django_assert_max_num_queries: DjangoAssertNumQueries,
    basis: str,
    most: int,
    month: int,
) -> None:
    story = Story(shop, seed=2)
    for steps in (1, 10):
        story.live(202610, steps=steps)
        with django_assert_max_num_queries(most):
            figures(basis, month=month)
        with django_assert_max_num_queries(3):
            month_trend(month, basis=basis)
