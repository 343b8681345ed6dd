"""What ``verify`` asks of the trade: do papers, claims, takings and entries agree?"""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal

from django.db.models import F, Q, Sum

from fraginv.base.models import NumberSeries
from fraginv.base.queries.words import word_differences
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tax import tax_due
from fraginv.ledger.rules import number_gaps
from fraginv.stock.models import Claim
from fraginv.trade.models import Balance, Credit, Customer, Payment, Sale, SaleLine
from fraginv.trade.queries.entry_differences import (
    credit_account_differences,
    entry_day_differences,
    entry_differences,
)
from fraginv.trade.queries.finding import KIND, names_of
from fraginv.trade.queries.part_differences import (
    line_differences,
    month_differences,
    share_differences,
    taking_differences,
)
from fraginv.trade.queries.rows import PAPERS, rows_of, sums_by, word_of
from fraginv.trade.queries.tallies import kept_differences
from fraginv.trade.rules.words import (
    CREDIT_SERIES,
    LOADED_PAYMENT_SERIES,
    LOADED_SALE_SERIES,
    PAYMENT_SERIES,
    SALE_SERIES,
    Basis,
    Means,
    paper_number,
)

SERIES = (
    {SALE_SERIES, LOADED_SALE_SERIES},
    {PAYMENT_SERIES, LOADED_PAYMENT_SERIES},
    {CREDIT_SERIES},
)  # of PAPERS, in their order


def trade_differences() -> Iterator[Difference]:
    """Yield everything in the trade that does not agree with itself, stock or ledger.

    Queries: about 40, and the papers once from end to end.
    """
    yield from total_differences()
    yield from tax_differences()
    yield from month_differences()
    yield from line_differences()
    yield from balance_differences()
    yield from credit_differences()
    yield from taking_differences()
    yield from share_differences()
    yield from number_differences()
    yield from claim_differences()
    yield from entry_differences()
    yield from entry_day_differences()
    yield from credit_account_differences()
    yield from kept_differences()
    customers = Customer.objects.select_related("party").order_by("pk")
    yield from word_differences(names_of(customers.iterator()), kind=KIND)


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


def tax_differences() -> Iterator[Difference]:
    """Yield sales whose tax is not what their rate comes to, by their own basis.

    Where a loaded table gave the tax there is no rate, and nothing to compare.
    Queries: 2.
    """
    for sale in Sale.objects.filter(tax_basis=Basis.INVOICE, tax_rate__isnull=False).iterator():
        due = tax_due(sale.net, sale.tax_rate or Decimal(0))
        if sale.tax != due:
            yield Difference(f"sale {sale.paper}", said_of_tax(sale, tax=sale.tax, due=due))
    lines = SaleLine.objects.filter(sale__tax_basis=Basis.ITEM, sale__tax_rate__isnull=False)
    for line in lines.select_related("sale").order_by("sale", "position").iterator():
        due = tax_due(line.net, line.sale.tax_rate or Decimal(0))
        if line.tax != due:
            yield Difference(
                f"sale {line.sale.paper}, line {line.position}",
                said_of_tax(line.sale, tax=line.tax, due=due),
            )


def said_of_tax(sale: Sale, *, tax: int, due: int) -> str:
    """Say that a tax is not what a sale's rate comes to."""
    return f"says tax {tax}, its rate {sale.tax_rate} by {sale.tax_basis} comes to {due}"


def balance_differences() -> Iterator[Difference]:
    """Yield sales on which not that is owed which payments and credits leave."""
    paid = sums_by(Payment.objects.all(), key="sale", column="amount")
    credited = sums_by(Credit.objects.all(), key="sale", column="off_owed")
    owed = dict(Balance.objects.values_list("sale", "owed"))
    for sale in Sale.objects.only("series", "year", "number", "total").iterator():
        due = sale.total - paid.get(sale.pk, 0) - credited.get(sale.pk, 0)
        if owed.get(sale.pk) != due:
            yield Difference(
                f"sale {sale.paper}",
                f"{owed.get(sale.pk)} is noted as owed, its payments and credits leave {due}",
            )
    astray = Balance.objects.select_related("sale").exclude(
        Q(customer=F("sale__customer")) | Q(customer__isnull=True, sale__customer__isnull=True),
        day=F("sale__day"),
    )
    for balance in astray.order_by("pk").iterator():
        yield Difference(f"sale {balance.sale.paper}", "its balance has another day or customer")
    back = Counter(
        sums_by(
            Credit.objects.filter(refund_means=Means.ACCOUNT), key="sale__customer", column="refund"
        )
    )
    spent = Payment.objects.filter(means=Means.ACCOUNT).exclude(series=LOADED_PAYMENT_SERIES)
    back.subtract(sums_by(spent, key="sale__customer", column="amount"))
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


def number_differences() -> Iterator[Difference]:
    """Yield numbers that are missing from a series, or that its counter does not know."""
    counted = {
        (series, year): last
        for series, year, last in NumberSeries.objects.values_list("series", "year", "last")
    }
    for model, series_of in zip(PAPERS, SERIES, strict=True):
        used: dict[tuple[str, int], list[int]] = {
            key: [] for key in counted if key[0] in series_of and counted[key]
        }
        for series, year, number in rows_of(model).values_list("series", "year", "number"):
            used.setdefault((series, year), []).append(number)
        for (series, year), numbers in sorted(used.items()):
            for gap in number_gaps(numbers):
                where = f"{word_of(model)} {paper_number(series, year, gap)}"
                yield Difference(where, "is missing from its series")
            if max(numbers, default=0) != counted.get((series, year)):
                yield Difference(
                    f"series {series} of {year}",
                    f"goes up to {max(numbers, default=0)}, its counter stands at "
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
