"""What a month's sales, credits and payments add up to."""

from collections import Counter
from dataclasses import dataclass
from typing import Literal

from django.db.models import Sum

from fraginv.trade.models import Credit, CreditLine, Payment, SaleLine, Taking

MonthBasis = Literal["sales", "cash"]


@dataclass(frozen=True)
class MonthSales:
    """A month of trade, in minor units; ``net`` = gross - discounts - credits, without tax.

    ``by_channel`` and ``by_group`` each add up to ``net``; ``receipts_by_means``
    is what came in less what was given back; ``sold`` counts pieces.
    """

    month: int
    basis: MonthBasis
    gross: int
    discounts: int
    credits: int
    by_channel: dict[str, int]
    by_group: dict[str, int]
    tax_collected: int
    receipts_by_means: dict[str, int]
    sold: int

    @property
    def net(self) -> int:
        """Return income without tax, after discounts and credits."""
        return self.gross - self.discounts - self.credits

    @property
    def receipts_total(self) -> int:
        """Return what came in less what was given back."""
        return sum(self.receipts_by_means.values())


def sales_of_month(month: int, *, basis: MonthBasis = "sales") -> MonthSales:
    """Add up a month, given as 202611.

    On the sales basis a sale counts in the month of its day, a credit in the
    month of its own. On the cash basis income is what was received for goods
    in the month, without tax. Each payment is for goods and tax in proportion
    to the sale's net and total after its credits; that share is worked out on
    everything received for the sale so far, rounded half up once, and what was
    counted before is taken off. So the payments of a sale that is paid in full
    add up to its net to the last minor unit, however they were cut up; over
    groups the share is split by largest remainder in the same cumulative way.
    Money given back by a credit is worked out likewise and stands under
    ``credits``; discounts were never received, so they are 0.

    Queries: 4, on the cash basis 5.
    """
    return on_sales_basis(month) if basis == "sales" else on_cash_basis(month)


def on_sales_basis(month: int) -> MonthSales:
    """Add up what was sold and credited in a month.

    Queries: 4.
    """
    by_channel: Counter[str] = Counter()
    by_group: Counter[str] = Counter()
    sums: Counter[str] = Counter()
    lines = SaleLine.objects.filter(month=month).order_by().values_list("channel", "group")
    for channel, group, gross, discount, net, tax, sold in lines.annotate(
        Sum("gross"), Sum("discount"), Sum("net"), Sum("tax"), Sum("quantity")
    ):
        by_channel[channel] += net
        by_group[group] += net
        sums.update(gross=gross, discounts=discount, tax=tax, sold=sold)
    back = CreditLine.objects.filter(month=month).order_by().values_list("channel", "group")
    for channel, group, net, tax in back.annotate(Sum("net"), Sum("tax")):
        by_channel[channel] -= net
        by_group[group] -= net
        sums.update(credits=net, tax=-tax)
    return MonthSales(
        month=month,
        basis="sales",
        gross=sums["gross"],
        discounts=sums["discounts"],
        credits=sums["credits"],
        by_channel=dict(by_channel),
        by_group=dict(by_group),
        tax_collected=sums["tax"],
        receipts_by_means=receipts_of(month)[0],
        sold=sums["sold"],
    )


def on_cash_basis(month: int) -> MonthSales:
    """Add up what was received for goods in a month.

    Queries: 5.
    """
    by_channel: Counter[str] = Counter()
    by_group: Counter[str] = Counter()
    sums: Counter[str] = Counter()
    rows = Taking.objects.filter(month=month).order_by().values_list("channel", "group")
    for side, of_payment in (("received", True), ("back", False)):
        for channel, group, amount in rows.filter(credit__isnull=of_payment).annotate(
            Sum("amount")
        ):
            by_channel[channel] += amount
            by_group[group] += amount
            sums[side] += amount
    receipts, tax = receipts_of(month)
    sold = SaleLine.objects.filter(month=month).aggregate(pieces=Sum("quantity", default=0))
    return MonthSales(
        month=month,
        basis="cash",
        gross=sums["received"],
        discounts=0,
        credits=-sums["back"],
        by_channel=dict(by_channel),
        by_group=dict(by_group),
        tax_collected=tax,
        receipts_by_means=receipts,
        sold=sold["pieces"],
    )


def receipts_of(month: int) -> tuple[dict[str, int], int]:
    """Return what came in less what was given back, by means, and the tax in it.

    Queries: 2.
    """
    receipts: Counter[str] = Counter()
    tax = 0
    paid = Payment.objects.filter(month=month).order_by().values_list("means")
    for means, amount, part in paid.annotate(Sum("amount"), Sum("tax")):
        receipts[means] += amount
        tax += part
    back = Credit.objects.filter(month=month).order_by().values_list("refund_means")
    for means, amount, part in back.annotate(Sum("refund"), Sum("refund_tax")):
        if means:
            receipts[means] -= amount
        tax -= part
    return dict(receipts), tax


def income_of_months(first: int, *, last: int, basis: MonthBasis = "sales") -> dict[int, int]:
    """Return the net income of each month that has any, from first to last, both inside.

    Queries: 2, on the cash basis 1.
    """
    income: Counter[int] = Counter()
    if basis == "cash":
        rows = Taking.objects.filter(month__range=(first, last)).order_by().values_list("month")
        return dict(rows.annotate(Sum("amount")))
    sold = SaleLine.objects.filter(month__range=(first, last)).order_by().values_list("month")
    income.update(dict(sold.annotate(Sum("net"))))
    back = CreditLine.objects.filter(month__range=(first, last)).order_by().values_list("month")
    income.subtract(dict(back.annotate(Sum("net"))))
    return dict(income)
