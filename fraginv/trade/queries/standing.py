"""How a sale stands after its payments and credits."""

from typing import Any

from django.db.models import QuerySet, Sum

from fraginv.trade.models import CreditLine, Sale, SaleLine, Taking
from fraginv.trade.rules.credits import Credited
from fraginv.trade.rules.receipts import Standing


def standing_of_sale(sale: Sale) -> Standing:
    """Return how a sale stands now.

    Lock: the caller holds the sale's balance row where it goes on to write.
    Queries: 5.
    """
    credited = sale.credits.aggregate(
        net=Sum("net", default=0), total=Sum("total", default=0), refund=Sum("refund", default=0)
    )
    paid = sale.payments.aggregate(total=Sum("amount", default=0))["total"]
    by_group = sums_by_group(SaleLine.objects.filter(sale=sale), "net")
    for group, net in sums_by_group(CreditLine.objects.filter(line__sale=sale), "net").items():
        by_group[group] -= net
    return Standing(
        net=sale.net - credited["net"],
        total=sale.total - credited["total"],
        received=paid - credited["refund"],
        by_group=by_group,
        taken=sums_by_group(Taking.objects.filter(sale=sale), "amount"),
    )


def sums_by_group(rows: QuerySet[Any], column: str) -> dict[str, int]:
    """Add up a column for each group, by name.

    Queries: 1.
    """
    found = rows.order_by("group").values_list("group").annotate(total=Sum(column))
    return dict(found)


def credited_of(line_ids: list[int]) -> dict[int, tuple[Credited, int]]:
    """Return for each line what has been credited of it, and in how many parts.

    Queries: 1.
    """
    rows = CreditLine.objects.filter(line__in=line_ids).values_list(
        "line", "part", "pieces", "net", "tax"
    )
    found: dict[int, tuple[Credited, int]] = {pk: (Credited(), 0) for pk in line_ids}
    for line, part, pieces, net, tax in rows:
        before, last = found[line]
        sum_ = Credited(before.pieces + pieces, before.net + net, before.tax + tax)
        found[line] = (sum_, max(last, part))
    return found
