"""Taking money for sales."""

from datetime import date

from django.db.models import F

from fraginv.base import clock
from fraginv.base.actions.keeping import next_number
from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.days import month_of
from fraginv.base.show import show_money
from fraginv.base.transactions import one_transaction
from fraginv.ledger.actions import post_entries
from fraginv.ledger.rules import Draft
from fraginv.trade.actions.tallies import add_rows
from fraginv.trade.models import Balance, Customer, Payment, Sale, Taking
from fraginv.trade.queries.standing import standing_of_sale
from fraginv.trade.rules.asked import Tender
from fraginv.trade.rules.entries import PAYMENT, payment_postings
from fraginv.trade.rules.receipts import Standing, check_payment, receive
from fraginv.trade.rules.tallies import PAID, TAKEN
from fraginv.trade.rules.words import LOADED_PAYMENT_SERIES, PAYMENT_SERIES, Means


@one_transaction
def take_payment(
    sale_id: int, *, amount: int, means: Means, by: Person, day: date | None = None
) -> Payment:
    """Take money for a sale, all of what is owed or a part.

    Args: ``amount`` in minor units; ``day`` the business day (today).
    Raises: InputError for nothing, more than is owed, a day before the sale or
        in the future, or more from a customer's credit than there is; NotFound.
    Lock: the sale's balance, the customer, number series, the chain's head.
    """
    sale = Sale.objects.select_related("customer__party").filter(pk=sale_id).first()
    if sale is None:
        raise NotFound("There is no such sale.")
    day = paper_day(day, sale=sale)
    tender = Tender(means, amount)
    lower_owed(sale, amount=amount)
    spend_credit(sale.customer, tender)
    number = next_number(PAYMENT_SERIES, year=day.year)
    standing = standing_of_sale(sale)
    payment = add_payment(sale, tender, standing=standing, number=number, day=day, by=by)
    post_entries([payment_draft(payment)], by=by)
    return payment


def paper_day(day: date | None, *, sale: Sale) -> date:
    """Return the business day of a paper about a sale, today unless another is given.

    Raises: InputError for a day in the future or before the sale.
    Queries: 1 outside a request.
    """
    present = today()
    if day is not None and not sale.day <= day <= present:
        raise InputError(f"The day {day} is not from {sale.day}, the day of sale, to {present}.")
    return day or present


def lower_owed(sale: Sale, *, amount: int) -> None:
    """Take a payment off what is owed, or refuse it.

    The guarded update lets two payments at once never take more than is owed.
    Raises: InputError with both amounts.
    Queries: 1, and 2 more where it is refused.
    """
    lowered = amount > 0 and Balance.objects.filter(sale=sale, owed__gte=amount).update(
        owed=F("owed") - amount
    )
    if not lowered:
        owed = Balance.objects.get(sale=sale).owed
        check_payment(amount, owed=owed, currency=organisation().currency)


def spend_credit(customer: Customer | None, tender: Tender) -> None:
    """Take money that is paid from a customer's credit off that credit.

    Raises: InputError for a walk-in or more than there is.
    Queries: none for other means, else 1, and 1 more where it is refused.
    """
    refuse_walk_in_credit(customer, tender)
    if customer is None or tender.means != Means.ACCOUNT:
        return
    spent = Customer.objects.filter(pk=customer.pk, credit__gte=tender.amount).update(
        credit=F("credit") - tender.amount
    )
    if not spent:
        there = Customer.objects.get(pk=customer.pk).credit
        shown = show_money(there, organisation())
        raise InputError(
            f"{customer.party.name} has a credit of {shown} with us. Take no more than that "
            "from it, or choose another means."
        )


def refuse_walk_in_credit(customer: Customer | None, tender: Tender) -> None:
    """Refuse to take money from the credit of somebody whom nobody knows.

    Raises: InputError.
    """
    if customer is None and tender.means == Means.ACCOUNT:
        raise InputError("A walk-in has no credit to pay from. Choose another means.")


def add_payment(
    sale: Sale, tender: Tender, *, standing: Standing, number: int, day: date, by: Person
) -> Payment:
    """Write a payment, and what it brought for the goods of each group.

    Queries: 2.
    """
    steps, _ = receive(standing, tender.amount)
    for_goods = sum(steps.values())
    payment = Payment.objects.create(
        series=PAYMENT_SERIES,
        year=day.year,
        number=number,
        sale=sale,
        day=day,
        month=month_of(day),
        at=clock.now(),
        means=Means(tender.means).value,
        amount=tender.amount,
        goods=for_goods,
        tax=tender.amount - for_goods,
        by=by,
    )
    takings = [
        Taking(
            sale=sale,
            payment=payment,
            month=payment.month,
            channel=sale.channel,
            group=group,
            amount=step,
        )
        for group, step in steps.items()
    ]
    Taking.objects.bulk_create(takings)
    add_rows(PAID, [payment])
    add_rows(TAKEN, takings)
    return payment


def payment_draft(payment: Payment) -> Draft:
    """Return a payment's entry, to be posted."""
    loaded = payment.series == LOADED_PAYMENT_SERIES
    postings = payment_postings(payment.amount, means=payment.means, loaded=loaded)
    return Draft(payment.day, PAYMENT, payment.paper, "", postings)
