"""What a month's sales, credits and payments add up to."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from fraginv.base.queries.tallies import tallies_of_month, tally_by_month
from fraginv.base.rules.tallies import tallies_under
from fraginv.trade.queries.tallies import trade_tallies
from fraginv.trade.rules.tallies import (
    CREDITED,
    GIVEN,
    NOTHING,
    ON_CASH,
    ON_SALES,
    PAID,
    REFUNDED,
    SOLD,
    TAKEN,
)

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


def sales_of_month(
    month: int, *, basis: MonthBasis = "sales", kept: Mapping[str, int] | None = None
) -> MonthSales:
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

    Everything is read from sums that are kept together with the papers.
    Args: ``kept`` the month's sums where they have been read already.
    Queries: 1 where they have not.
    """
    kept = tallies_of_month(month) if kept is None else kept
    return on_sales_basis(month, kept) if basis == "sales" else on_cash_basis(month, kept)


def sales_counted(month: int) -> MonthSales:
    """Add up a month on the sales basis from the papers themselves, to compare.

    Queries: 6.
    """
    kept = {name: amount for (_, name), amount in trade_tallies(month=month).items()}
    return on_sales_basis(month, kept)


def on_sales_basis(month: int, kept: Mapping[str, int]) -> MonthSales:
    """Add up what was sold and credited in a month."""
    by_channel: Counter[str] = Counter()
    by_group: Counter[str] = Counter()
    sums: Counter[str] = Counter()
    for (channel, group, column), amount in tallies_under(SOLD.under, kept).items():
        sums[column] += amount
        if column == "net":
            by_channel[channel] += amount
            by_group[group] += amount
    for (channel, group, column), amount in tallies_under(CREDITED.under, kept).items():
        sums[f"credited {column}"] += amount
        if column == "net":
            by_channel[channel] -= amount
            by_group[group] -= amount
    return MonthSales(
        month=month,
        basis="sales",
        gross=sums["gross"],
        discounts=sums["discount"],
        credits=sums["credited net"],
        by_channel=dict(by_channel),
        by_group=dict(by_group),
        tax_collected=sums["tax"] - sums["credited tax"],
        receipts_by_means=receipts_of(kept)[0],
        sold=sums["pieces"],
    )


def on_cash_basis(month: int, kept: Mapping[str, int]) -> MonthSales:
    """Add up what was received for goods in a month."""
    by_channel: Counter[str] = Counter()
    by_group: Counter[str] = Counter()
    sums: Counter[str] = Counter()
    for side in (TAKEN.under, GIVEN.under):
        for (channel, group, _), amount in tallies_under(side, kept).items():
            by_channel[channel] += amount
            by_group[group] += amount
            sums[side] += amount
    receipts, tax = receipts_of(kept)
    sold = tallies_under(SOLD.under, kept)
    return MonthSales(
        month=month,
        basis="cash",
        gross=sums[TAKEN.under],
        discounts=0,
        credits=-sums[GIVEN.under],
        by_channel=dict(by_channel),
        by_group=dict(by_group),
        tax_collected=tax,
        receipts_by_means=receipts,
        sold=sum(amount for (_, _, column), amount in sold.items() if column == "pieces"),
    )


def receipts_of(kept: Mapping[str, int]) -> tuple[dict[str, int], int]:
    """Return what came in less what was given back, by means, and the tax in it."""
    receipts: Counter[str] = Counter()
    tax = 0
    for side, sign in ((PAID.under, 1), (REFUNDED.under, -1)):
        for (means, column), amount in tallies_under(side, kept).items():
            if column == "tax":
                tax += sign * amount
            elif means != NOTHING:
                receipts[means] += sign * amount
    return dict(receipts), tax


def income_of_months(first: int, *, last: int, basis: MonthBasis = "sales") -> dict[int, int]:
    """Return the net income of each month that has any, from first to last, both inside.

    Queries: 1.
    """
    return tally_by_month(ON_CASH if basis == "cash" else ON_SALES, first=first, last=last)
