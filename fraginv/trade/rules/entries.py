"""The double entry of each paper of the trade."""

from collections.abc import Mapping

from fraginv.ledger.rules import (
    CREDITS,
    CUSTOMERS_CREDIT,
    DISCOUNTS,
    OPENING,
    RECEIVABLES,
    SALES_TAX,
    Posting,
    means_account,
    sales_account,
    summed,
)
from fraginv.trade.rules.words import Means

SALE = "sale"
PAYMENT = "payment"
CREDIT = "credit"


def money_account(means: str) -> str:
    """Return where money of a means arrives; ``account`` is what we owe the customer."""
    return CUSTOMERS_CREDIT if means == Means.ACCOUNT else means_account(means)


def sale_postings(
    gross_by_group: Mapping[str, int], *, discounts: int, tax: int
) -> tuple[Posting, ...]:
    """Return a sale's postings in minor units: receivable against sales, discounts and tax."""
    gross = sum(gross_by_group.values())
    return summed(
        [
            Posting(RECEIVABLES, gross - discounts + tax),
            Posting(DISCOUNTS, discounts),
            *(Posting(sales_account(group), -amount) for group, amount in gross_by_group.items()),
            Posting(SALES_TAX, -tax),
        ]
    )


def payment_postings(amount: int, *, means: str, loaded: bool = False) -> tuple[Posting, ...]:
    """Return a payment's postings: money against the receivable.

    A loaded payment from an account spent a credit from before the records began.
    """
    if loaded and means == Means.ACCOUNT:
        return (Posting(OPENING, amount), Posting(RECEIVABLES, -amount))
    return (Posting(money_account(means), amount), Posting(RECEIVABLES, -amount))


def credit_postings(
    *, net: int, tax: int, off_owed: int, refund: int, means: str
) -> tuple[Posting, ...]:
    """Return a credit's postings: returns and tax against the receivable and what goes back."""
    back = [Posting(money_account(means), -refund)] if refund else []
    return summed(
        [Posting(CREDITS, net), Posting(SALES_TAX, tax), Posting(RECEIVABLES, -off_owed), *back]
    )
