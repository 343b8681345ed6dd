"""Credits and payments through real rows."""

from datetime import timedelta

import pytest

from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.queries.organisation import today
from fraginv.ledger.queries import ledger_differences
from fraginv.stock.queries.differences import stock_differences
from fraginv.trade.actions.credits import credit_sale
from fraginv.trade.actions.payments import take_payment
from fraginv.trade.actions.pricing import set_price
from fraginv.trade.actions.selling import post_sale
from fraginv.trade.models import Credit, Customer, Payment, Sale
from fraginv.trade.queries.differences import trade_differences
from fraginv.trade.rules.asked import CreditItem, SaleItem, Tender
from fraginv.trade.rules.words import Means
from tests.conftest import People
from tests.trade.rows import LONG_AGO, Shop, open_shop, refused
from tests.trade.test_selling import postings


@pytest.fixture
def shop(people: People) -> Shop:
    return open_shop(people)


def nothing_differs() -> bool:
    return not [*trade_differences(), *stock_differences(), *ledger_differences()]


def owed(sale: Sale) -> int:
    return Sale.objects.get(pk=sale.pk).balance.owed


def test_payments_in_parts_until_nothing_is_owed(shop: Shop) -> None:
    sale = shop.sell(shop.priced_lot(30), 4)
    assert sale.total == 4250
    take_payment(sale.pk, amount=1000, means=Means.CASH, by=shop.seller)
    take_payment(sale.pk, amount=3249, means=Means.CARD, by=shop.seller)
    with refused(InputError, match=r"0\.02 USD is more than what is owed, 0\.01 USD"):
        take_payment(sale.pk, amount=2, means=Means.CASH, by=shop.seller)
    take_payment(sale.pk, amount=1, means=Means.CHEQUE, by=shop.seller)
    assert owed(sale) == 0
    payments = list(sale.payments.all())
    assert [payment.paper[-4:] for payment in payments] == ["0001", "0002", "0003"]
    assert sum(payment.goods for payment in payments) == sale.net
    assert sum(payment.tax for payment in payments) == sale.tax
    assert nothing_differs()


@pytest.mark.parametrize("amount", [0, -1, 4251], ids=["none", "negative", "too much"])
def test_bad_payments_write_nothing(shop: Shop, amount: int) -> None:
    sale = shop.sell(shop.priced_lot(30), 4)
    with refused(InputError):
        take_payment(sale.pk, amount=amount, means=Means.CASH, by=shop.seller)
    assert not Payment.objects.exists()
    assert owed(sale) == 4250


def test_payment_on_a_day_before_the_sale_is_refused(shop: Shop) -> None:
    sale = shop.sell(shop.priced_lot(30), 4)
    with refused(InputError, match="is not from"):
        take_payment(
            sale.pk, amount=1, means=Means.CASH, by=shop.seller, day=today() - timedelta(days=1)
        )
    with refused(NotFound):
        take_payment(0, amount=1, means=Means.CASH, by=shop.seller)


# OpenStax, Principles of Accounting vol. 1, sections 6.1 and 6.4, in cents and without tax:
# 250 units at 150 for cash, 40 come back (6,000), 20 are kept at 10 off each (200); and 55
# units at 350 on account, 10 come back (3,500), 5 are kept at 60 off each (300).
@pytest.mark.parametrize(
    ("pieces", "price", "is_paid", "back", "kept", "side"),
    [(250, 15_000, True, 40, 20_000, "1000"), (55, 35_000, False, 10, 30_000, "1100")],
    ids=["for cash", "on account"],
)
def test_returns_and_allowances_of_a_textbook(
    people: People, pieces: int, price: int, is_paid: bool, back: int, kept: int, side: str
) -> None:
    shop = open_shop(people, rate="0")
    lot = shop.priced_lot(300, price=price)
    gross = pieces * price
    sale = shop.sell(lot, pieces, paid=gross if is_paid else 0)
    line = sale.lines.get()
    means = Means.CASH if is_paid else None
    returned = credit_sale(
        sale.pk, by=shop.seller, items=[CreditItem(line.pk, back, alive=back)], refund_means=means
    )
    assert postings("credit", returned.paper) == {"4900": back * price, side: -back * price}
    lot.refresh_from_db()
    assert lot.free == 300 - pieces + back
    allowed = credit_sale(
        sale.pk, by=shop.seller, items=[CreditItem(line.pk, allowance=kept)], refund_means=means
    )
    assert postings("credit", allowed.paper) == {"4900": kept, side: -kept}
    lot.refresh_from_db()
    assert lot.free == 300 - pieces + back
    assert owed(sale) == (0 if is_paid else gross - back * price - kept)
    assert nothing_differs()


def test_living_come_back_to_stock_and_dead_do_not(shop: Shop) -> None:
    lot = shop.priced_lot(5)
    sale = shop.sell(lot, 5)
    line = sale.lines.get()
    credit_sale(sale.pk, by=shop.seller, items=[CreditItem(line.pk, 3, alive=1)], reason="DOA")
    lot.refresh_from_db()
    assert (lot.pieces, lot.free, lot.stage) == (1, 1, "ready")
    assert nothing_differs()


def test_credits_of_parts_add_up_to_the_sale(shop: Shop) -> None:
    first, second = shop.priced_lot(10, price=333), shop.priced_lot(10, price=1999)
    sale = post_sale(
        [SaleItem(first.pk, 3), SaleItem(second.pk, 3)],
        by=shop.seller,
        discount=100,
        payment=Tender(Means.CARD, 3000),
    )
    lines = list(sale.lines.order_by("position"))
    for line in (lines[0], lines[1], lines[0]):
        credit_sale(
            sale.pk, by=shop.seller, items=[CreditItem(line.pk, 1)], refund_means=Means.CARD
        )
    credit_sale(sale.pk, by=shop.seller, refund_means=Means.CARD)
    credits_ = list(Credit.objects.filter(sale=sale))
    assert sum(credit.net for credit in credits_) == sale.net
    assert sum(credit.tax for credit in credits_) == sale.tax
    assert sum(credit.refund for credit in credits_) == 3000
    assert sum(credit.refund_goods for credit in credits_) == sale.payments.get().goods
    assert owed(sale) == 0
    assert nothing_differs()
    with refused(InputError, match="nothing to credit"):
        credit_sale(sale.pk, by=shop.seller)


def test_what_was_paid_goes_back_only_by_a_means(shop: Shop) -> None:
    sale = shop.sell(shop.priced_lot(5), 2, paid=2000)
    with refused(InputError, match=r"20\.00 goes back to the customer\. Choose how"):
        credit_sale(sale.pk, by=shop.seller, items=[CreditItem(sale.lines.get().pk, 2)])
    assert not Credit.objects.exists()
    assert owed(sale) == 125


@pytest.mark.parametrize(
    ("item", "says"),
    [
        (CreditItem(0, 1), "not on this sale"),
        (CreditItem(-1, 3), "0 of the 2 sold are credited already, so 2 are left"),
        (CreditItem(-1, 0), "0 pieces cannot be credited"),
        (CreditItem(-1, 1, alive=2), "2 alive of 1"),
        (CreditItem(-1, 1, allowance=5), "not both"),
        (CreditItem(-1, allowance=2001), "more than what is left"),
    ],
    ids=["strange line", "too many", "none", "more alive", "both", "allowance"],
)
def test_bad_credits_write_nothing(shop: Shop, item: CreditItem, says: str) -> None:
    sale = shop.sell(shop.priced_lot(5), 2)
    line = sale.lines.get().pk
    asked = CreditItem(
        line if item.line_id == -1 else item.line_id, item.pieces, item.alive, item.allowance
    )
    with refused(InputError, match=says):
        credit_sale(sale.pk, by=shop.seller, items=[asked])
    with refused(InputError, match="named twice"):
        credit_sale(sale.pk, by=shop.seller, items=[CreditItem(line, 1), CreditItem(line, 1)])
    assert not Credit.objects.exists()


def test_credit_with_us_is_kept_and_spent(shop: Shop) -> None:
    lot = shop.priced_lot(10)
    set_price(1000, kind=shop.shop, variety=lot.variety, first_day=LONG_AGO, by=shop.manager)
    buyer = shop.customer()
    first = shop.sell(lot, 2, customer=buyer, paid=2125)
    credit_sale(first.pk, by=shop.seller, refund_means=Means.ACCOUNT)
    assert Customer.objects.get(pk=buyer.pk).credit == 2125
    second = shop.sell(lot, 3, customer=buyer)
    with refused(InputError, match=r"has a credit of \$21\.25 with us"):
        take_payment(second.pk, amount=2126, means=Means.ACCOUNT, by=shop.seller)
    take_payment(second.pk, amount=2125, means=Means.ACCOUNT, by=shop.seller)
    assert Customer.objects.get(pk=buyer.pk).credit == 0
    assert nothing_differs()


def test_walk_in_has_no_account(shop: Shop) -> None:
    sale = shop.sell(shop.priced_lot(10), 2, paid=2125)
    with refused(InputError, match="walk-in has no account"):
        credit_sale(sale.pk, by=shop.seller, refund_means=Means.ACCOUNT)
    other = shop.sell(shop.priced_lot(10), 1)
    with refused(InputError, match="walk-in has no credit"):
        take_payment(other.pk, amount=1, means=Means.ACCOUNT, by=shop.seller)


def test_a_sale_of_nobody_cannot_be_credited(shop: Shop) -> None:
    with refused(NotFound, match="no such sale"):
        credit_sale(0, by=shop.seller)
    sale = shop.sell(shop.priced_lot(10), 2)
    credit = credit_sale(sale.pk, by=shop.seller, alive=True)
    with refused(Conflict, match="stays as it is"):
        credit.delete()
