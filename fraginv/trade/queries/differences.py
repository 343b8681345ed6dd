"""What ``verify`` asks of the trade: do papers, claims, takings and entries agree?"""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from django.db.models import F, Model, Q, QuerySet, Sum

from fraginv.base.models import NumberSeries
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.ledger.models import Line
from fraginv.ledger.rules import Posting, number_gaps
from fraginv.stock.models import Claim
from fraginv.trade.models import Balance, Credit, Customer, Payment, Sale, SaleLine
from fraginv.trade.rules.entries import (
    CREDIT,
    PAYMENT,
    SALE,
    credit_postings,
    payment_postings,
    sale_postings,
)
from fraginv.trade.rules.words import LOADED_PAYMENT_SERIES, Means, paper_number

PAPERS: tuple[type[Sale] | type[Payment] | type[Credit], ...] = (Sale, Payment, Credit)
Posted = dict[str, dict[str, int]]


def trade_differences() -> Iterator[Difference]:
    """Yield everything in the trade that does not agree with itself, stock or ledger.

    Queries: about 25, and the papers once from end to end.
    """
    yield from total_differences()
    yield from month_differences()
    yield from balance_differences()
    yield from credit_differences()
    yield from taking_differences()
    yield from number_differences()
    yield from claim_differences()
    yield from entry_differences()


def total_differences() -> Iterator[Difference]:
    """Yield sales and credits whose amounts are not the sums of their lines."""
    sales = Sale.objects.annotate(
        of_gross=Sum("lines__gross", default=0),
        of_discount=Sum("lines__discount", default=0),
        of_net=Sum("lines__net", default=0),
        of_tax=Sum("lines__tax", default=0),
    )
    for sale in sales.exclude(
        gross=F("of_gross"), discounts=F("of_discount"), net=F("of_net"), tax=F("of_tax")
    ):
        yield Difference(
            f"sale {sale.paper}",
            f"says net {sale.net} and tax {sale.tax}, its lines add up to net "
            f"{sale.of_net} and tax {sale.of_tax}",
        )
    credits_ = Credit.objects.annotate(
        of_net=Sum("lines__net", default=0), of_tax=Sum("lines__tax", default=0)
    )
    for credit in credits_.exclude(net=F("of_net"), tax=F("of_tax")):
        yield Difference(
            f"credit {credit.paper}",
            f"says net {credit.net} and tax {credit.tax}, its lines add up to net "
            f"{credit.of_net} and tax {credit.of_tax}",
        )


def month_differences() -> Iterator[Difference]:
    """Yield papers and lines that stand in another month or channel than they should."""
    for model in PAPERS:
        for paper in rows_of(model).only("series", "year", "number", "day", "month").iterator():
            if paper.month != month_of(paper.day):
                yield Difference(
                    f"{word_of(model)} {paper.paper}",
                    f"is of {paper.day} and counts in the month {paper.month}",
                )
    astray = SaleLine.objects.select_related("sale").exclude(
        month=F("sale__month"), channel=F("sale__channel")
    )
    for line in astray:
        yield Difference(
            f"sale {line.sale.paper}, line {line.position}",
            f"counts in {line.month}, {line.channel}; its sale in {line.sale.month}, "
            f"{line.sale.channel}",
        )


def balance_differences() -> Iterator[Difference]:
    """Yield sales on which not that is owed which payments and credits leave."""
    paid = sums_by(Payment.objects.all(), "sale", "amount")
    credited = sums_by(Credit.objects.all(), "sale", "off_owed")
    owed = dict(Balance.objects.values_list("sale", "owed"))
    for sale in Sale.objects.only("series", "year", "number", "total").iterator():
        due = sale.total - paid.get(sale.pk, 0) - credited.get(sale.pk, 0)
        if owed.get(sale.pk) != due:
            yield Difference(
                f"sale {sale.paper}",
                f"{owed.get(sale.pk)} is noted as owed, its payments and credits leave {due}",
            )
    back = Counter(
        sums_by(Credit.objects.filter(refund_means=Means.ACCOUNT), "sale__customer", "refund")
    )
    spent = Payment.objects.filter(means=Means.ACCOUNT).exclude(series=LOADED_PAYMENT_SERIES)
    back.subtract(sums_by(spent, "sale__customer", "amount"))
    for customer in Customer.objects.select_related("party"):
        if customer.credit != back[customer.pk]:
            yield Difference(
                f"customer {customer.pk}",
                f"has a credit of {customer.credit}, credits and payments leave "
                f"{back[customer.pk]}",
            )


def credit_differences() -> Iterator[Difference]:
    """Yield lines of sales of which more was credited than was sold."""
    lines = SaleLine.objects.select_related("sale").annotate(
        back=Sum("credit_lines__pieces"), back_net=Sum("credit_lines__net")
    )
    for line in lines.filter(Q(back__gt=F("quantity")) | Q(back_net__gt=F("net"))):
        yield Difference(
            f"sale {line.sale.paper}, line {line.position}",
            f"{line.quantity} pieces for {line.net} were sold, {line.back} for "
            f"{line.back_net} are credited",
        )


def taking_differences() -> Iterator[Difference]:
    """Yield payments and credits whose parts for goods do not add up."""
    for payment in (
        Payment.objects.annotate(parts=Sum("takings__amount", default=0))
        .exclude(goods=F("parts"))
        .iterator()
    ):
        yield Difference(
            f"payment {payment.paper}",
            f"{payment.goods} is for goods, its parts say {payment.parts}",
        )
    for credit in (
        Credit.objects.annotate(parts=-Sum("takings__amount", default=0))
        .exclude(refund_goods=F("parts"))
        .iterator()
    ):
        yield Difference(
            f"credit {credit.paper}",
            f"{credit.refund_goods} went back for goods, its parts say {credit.parts}",
        )


def number_differences() -> Iterator[Difference]:
    """Yield numbers that are missing from a series, or that its counter does not know."""
    counted = {
        (series, year): last
        for series, year, last in NumberSeries.objects.values_list("series", "year", "last")
    }
    for model in PAPERS:
        used: dict[tuple[str, int], list[int]] = {}
        for series, year, number in rows_of(model).values_list("series", "year", "number"):
            used.setdefault((series, year), []).append(number)
        for (series, year), numbers in sorted(used.items()):
            for gap in number_gaps(numbers):
                where = f"{word_of(model)} {paper_number(series, year, gap)}"
                yield Difference(where, "is missing from its series")
            if max(numbers) != counted.get((series, year)):
                yield Difference(
                    f"series {series} of {year}",
                    f"goes up to {max(numbers)}, its counter stands at "
                    f"{counted.get((series, year))}",
                )


def claim_differences() -> Iterator[Difference]:
    """Yield lines that sold another number of pieces than was taken from stock."""
    lines = SaleLine.objects.filter(claim__isnull=False).select_related("sale", "claim__frag")
    for line in lines.annotate(back=Sum("credit_lines__pieces", default=0)):
        claim = line.claim
        if claim is None:
            continue
        where = f"sale {line.sale.paper}, line {line.position}"
        if (claim.kind, claim.pieces, claim.frag_id) != ("sale", line.quantity, line.frag_id):
            yield Difference(
                where,
                f"sells {line.quantity} pieces, stock gave {claim.pieces} of "
                f"{show_code(claim.frag.code_id)} as a {claim.kind}",
            )
        if claim.back != line.back:
            yield Difference(where, f"{line.back} are credited, {claim.back} came back to stock")
    for claim in Claim.objects.filter(kind="sale", sale_line__isnull=True).select_related("frag"):
        yield Difference(
            f"frag {show_code(claim.frag.code_id)}",
            f"{claim.pieces} pieces are taken as sold, and no sale holds them",
        )


def entry_differences() -> Iterator[Difference]:
    """Yield papers whose entries say something else, and entries without a paper."""
    yield from compare(SALE, expected=expected_of_sales(), posted=posted_as(SALE))
    payments = {
        payment.paper: as_amounts(payment_postings(payment.amount, means=payment.means))
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


def sums_by(rows: QuerySet[Any], key: str, column: str) -> dict[int, int]:
    """Add up a column for each value of a key.

    Queries: 1.
    """
    return dict(rows.order_by().values_list(key).annotate(Sum(column)))


def rows_of(model: type[Model]) -> QuerySet[Any]:
    """Return all papers of one kind in the order of their numbers."""
    return model._default_manager.order_by("series", "year", "number")


def word_of(model: type[Model]) -> str:
    """Return how a kind of paper is named."""
    return str(model._meta.verbose_name)
