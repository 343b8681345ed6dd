"""Whether the ledger says what the papers of the trade say."""

from collections.abc import Iterator, Mapping
from datetime import date

from django.db.models import Sum

from fraginv.base.rules.differences import Difference
from fraginv.ledger.models import Entry, Line
from fraginv.ledger.rules import CUSTOMERS_CREDIT, Posting
from fraginv.trade.models import Credit, Customer, Payment, Sale, SaleLine
from fraginv.trade.queries.rows import PAPERS, rows_of, word_of
from fraginv.trade.rules.entries import (
    CREDIT,
    PAYMENT,
    SALE,
    credit_postings,
    payment_postings,
    sale_postings,
)
from fraginv.trade.rules.words import LOADED_PAYMENT_SERIES

Posted = dict[str, dict[str, int]]


def entry_differences() -> Iterator[Difference]:
    """Yield papers whose entries say something else, and entries without a paper."""
    yield from compare(SALE, expected=expected_of_sales(), posted=posted_as(SALE))
    payments = {
        payment.paper: as_amounts(
            payment_postings(
                payment.amount,
                means=payment.means,
                loaded=payment.series == LOADED_PAYMENT_SERIES,
            )
        )
        for payment in Payment.objects.iterator()
    }
    yield from compare(PAYMENT, expected=payments, posted=posted_as(PAYMENT))
    credits_ = {
        credit.paper: as_amounts(
            credit_postings(
                net=credit.net,
                tax=credit.tax,
                off_owed=credit.off_owed,
                refund=credit.refund,
                means=credit.refund_means,
            )
        )
        for credit in Credit.objects.iterator()
    }
    yield from compare(CREDIT, expected=credits_, posted=posted_as(CREDIT))


def expected_of_sales() -> Posted:
    """Return what the entry of each sale should say, by its number."""
    groups: dict[int, dict[str, int]] = {}
    rows = SaleLine.objects.order_by().values_list("sale", "group").annotate(Sum("gross"))
    for sale_id, group, gross in rows.iterator():
        groups.setdefault(sale_id, {})[group] = gross
    return {
        sale.paper: as_amounts(
            sale_postings(groups.get(sale.pk, {}), discounts=sale.discounts, tax=sale.tax)
        )
        for sale in Sale.objects.iterator()
    }


def compare(source: str, *, expected: Posted, posted: Posted) -> Iterator[Difference]:
    """Yield each paper whose entry is missing, wrong or too much."""
    for paper in sorted({*expected, *posted}):
        wanted, found = expected.get(paper), posted.get(paper, {})
        if wanted is None:
            yield Difference(f"{source} {paper}", "has an entry, and there is no such paper")
        elif wanted != found:
            yield Difference(
                f"{source} {paper}", f"should post {said(wanted)}, its entry says {said(found)}"
            )


def said(amounts: Mapping[str, int]) -> str:
    """Write postings for a person: ``1100: 425, 4040: -400``, or nothing."""
    return ", ".join(f"{account}: {amounts[account]}" for account in sorted(amounts)) or "nothing"


def as_amounts(postings: tuple[Posting, ...]) -> dict[str, int]:
    """Return postings as amounts by account."""
    return {posting.account: posting.amount for posting in postings}


def posted_as(source: str) -> Posted:
    """Return what all entries of one source say, by their papers' numbers.

    Queries: 1.
    """
    found: Posted = {}
    rows = Line.objects.filter(entry__source=source).order_by()
    for paper, account, amount in rows.values_list("entry__paper", "account", "amount").iterator():
        amounts = found.setdefault(paper, {})
        amounts[account] = amounts.get(account, 0) + amount
    return found


def entry_day_differences() -> Iterator[Difference]:
    """Yield papers whose entry stands on another day than they do.

    Queries: 4, and the papers and entries once from end to end.
    """
    sources = {Sale: SALE, Payment: PAYMENT, Credit: CREDIT}
    for model in PAPERS:
        posted: dict[str, date] = dict(
            Entry.objects.filter(source=sources[model]).order_by().values_list("paper", "day")
        )
        for paper in rows_of(model).only("series", "year", "number", "day").iterator():
            day = posted.get(paper.paper, paper.day)
            if day != paper.day:
                yield Difference(
                    f"{word_of(model)} {paper.paper}",
                    f"is of {paper.day}, its entry was posted on {day}",
                )


def credit_account_differences() -> Iterator[Difference]:
    """Yield that the ledger owes customers another sum than their credits come to.

    Queries: 2.
    """
    lines = Line.objects.filter(account=CUSTOMERS_CREDIT)
    posted = -lines.aggregate(total=Sum("amount", default=0))["total"]
    kept = Customer.objects.aggregate(total=Sum("credit", default=0))["total"]
    if posted != kept:
        yield Difference(
            f"account {CUSTOMERS_CREDIT}",
            f"says that {posted} is owed to customers, their credits come to {kept}",
        )
