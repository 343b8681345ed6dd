"""Whether what the month adds up stands where its paper does: month, channel, group."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from django.db.models import F, QuerySet, Sum
from django.db.models.functions import Coalesce

from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.trade.models import Credit, CreditLine, Payment, Sale, SaleLine, Taking
from fraginv.trade.queries.rows import PAPERS, rows_of, sums_by, word_of
from fraginv.trade.rules.receipts import astray, goods_of

ByGroup = dict[int, Counter[str]]


def month_differences() -> Iterator[Difference]:
    """Yield papers and lines that stand in another month or channel than they should."""
    for model in PAPERS:
        for paper in rows_of(model).only("series", "year", "number", "day", "month").iterator():
            if paper.month != month_of(paper.day):
                yield Difference(
                    f"{word_of(model)} {paper.paper}",
                    f"is of {paper.day} and counts in the month {paper.month}",
                )


def line_differences() -> Iterator[Difference]:
    """Yield lines of sales and credits that count where their papers do not.

    Queries: 2.
    """
    sold = SaleLine.objects.select_related("sale").exclude(
        month=F("sale__month"), channel=F("sale__channel")
    )
    for line in sold:
        yield Difference(
            f"sale {line.sale.paper}, line {line.position}",
            f"counts in {line.month}, {line.channel}; its sale in {line.sale.month}, "
            f"{line.sale.channel}",
        )
    credited = CreditLine.objects.select_related("credit", "line__sale").exclude(
        month=F("credit__month"), channel=F("line__sale__channel"), group=F("line__group")
    )
    for back in credited:
        yield Difference(
            f"credit {back.credit.paper}, for line {back.line.position}",
            f"counts in {back.month}, {back.channel}, {back.group}; should count in "
            f"{back.credit.month}, {back.line.sale.channel}, {back.line.group}",
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
    wrong = Taking.objects.select_related("sale", "payment", "credit").exclude(
        month=Coalesce("payment__month", "credit__month"), channel=F("sale__channel")
    )
    for taking in wrong:
        paper = taking.payment or taking.credit
        if paper is not None:
            yield Difference(
                f"{word_of(type(paper))} {paper.paper}, for {taking.group}",
                f"counts in {taking.month}, {taking.channel}; should count in {paper.month}, "
                f"{taking.sale.channel}",
            )


def share_differences() -> Iterator[Difference]:
    """Yield sales of which a group was counted with another share of what was received.

    Queries: 6.
    """
    weights = by_group(SaleLine.objects.all(), key="sale", column="net")
    back = by_group(CreditLine.objects.all(), key="line__sale", column="net")
    for sale_id, groups in back.items():
        weights.setdefault(sale_id, Counter()).subtract(groups)
    taken = by_group(Taking.objects.all(), key="sale", column="amount")
    received = Counter(sums_by(Payment.objects.all(), key="sale", column="amount"))
    received.subtract(sums_by(Credit.objects.all(), key="sale", column="refund"))
    credited = sums_by(Credit.objects.all(), key="sale", column="total")
    for sale in Sale.objects.filter(pk__in=Taking.objects.values("sale")).iterator():
        due, total = weights.get(sale.pk, Counter()), sale.total - credited.get(sale.pk, 0)
        goods = goods_of(received[sale.pk], net=sum(due.values()), total=total)
        for group in sorted(astray(goods, due, taken=taken.get(sale.pk, {}))):
            yield Difference(
                f"sale {sale.paper}",
                f"{taken[sale.pk][group]} is counted as received for {group}, which is not its "
                f"share of {goods}",
            )


def by_group(rows: QuerySet[Any], *, key: str, column: str) -> ByGroup:
    """Add up a column for each value of a key and each group.

    Queries: 1.
    """
    found: ByGroup = {}
    for one, group, total in rows.order_by().values_list(key, "group").annotate(Sum(column)):
        found.setdefault(one, Counter())[group] = total
    return found
