"""The same month out of the ledger, and where papers and entries disagree."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass

from django.db.models import Q, Sum

from fraginv.base.rules.days import show_month
from fraginv.base.rules.differences import Difference
from fraginv.costs.models import Bill
from fraginv.costs.queries import costs_of_month
from fraginv.ledger.models import Line
from fraginv.ledger.rules import (
    BANK,
    CARD_CLEARING,
    CASH,
    CHEQUES,
    CREDITS,
    CUSTOMERS_CREDIT,
    DISCOUNTS,
    IN_KIND_DISPLAY,
    IN_KIND_FRAGS,
    OPENING,
    SALES_BY_GROUP,
    SALES_TAX,
    TRADED_CORALS,
    Part,
)
from fraginv.trade.models import Credit, CreditLine, Payment, SaleLine
from fraginv.trade.queries.months import sales_counted
from fraginv.trade.rules.entries import CREDIT, PAYMENT

MONEY = (CASH, CARD_CLEARING, BANK, CHEQUES, TRADED_CORALS, CUSTOMERS_CREDIT, OPENING)


@dataclass(frozen=True)
class Sums:
    """What a month comes to on the sales basis, by papers or by entries; in minor units."""

    gross_sales: int
    discounts: int
    credits: int
    sales_tax: int
    receipts: int
    running_costs: int
    direct_costs: int
    given_in_kind: int

    @property
    def net(self) -> int:
        """Return income without tax, after discounts and credits."""
        return self.gross_sales - self.discounts - self.credits


def same_from_entries(month: int) -> Sums:
    """Add a month up from the ledger's lines alone.

    Receipts are what payments and credits moved on the accounts of money and
    of customers' credit; a loaded payment may have spent a credit from before.
    Queries: 1.
    """
    money = Q(account__in=MONEY, entry__source__in=[PAYMENT, CREDIT])
    rows = Line.objects.filter(month=month).aggregate(
        gross=Sum("amount", filter=Q(account__in=SALES_BY_GROUP.values()), default=0),
        discounts=Sum("amount", filter=Q(account=DISCOUNTS), default=0),
        credits=Sum("amount", filter=Q(account=CREDITS), default=0),
        tax=Sum("amount", filter=Q(account=SALES_TAX), default=0),
        receipts=Sum("amount", filter=money, default=0),
        running=Sum("amount", filter=Q(account__part=Part.RUNNING.value), default=0),
        direct=Sum("amount", filter=Q(account__part=Part.DIRECT.value), default=0),
        given=Sum("amount", filter=Q(account__in=[IN_KIND_DISPLAY, IN_KIND_FRAGS]), default=0),
    )
    return Sums(
        gross_sales=-rows["gross"],
        discounts=rows["discounts"],
        credits=rows["credits"],
        sales_tax=-rows["tax"],
        receipts=rows["receipts"],
        running_costs=rows["running"],
        direct_costs=rows["direct"],
        given_in_kind=rows["given"],
    )


def same_from_papers(month: int) -> Sums:
    """Add a month up from sales, credits, payments and bills.

    Queries: 7.
    """
    sales, costs = sales_counted(month), costs_of_month(month)
    return Sums(
        gross_sales=sales.gross,
        discounts=sales.discounts,
        credits=sales.credits,
        sales_tax=sales.tax_collected,
        receipts=sales.receipts_total,
        running_costs=costs.display_total,
        direct_costs=costs.direct_total,
        given_in_kind=costs.in_kind + costs.in_kind_direct,
    )


def month_differences(month: int) -> Iterator[Difference]:
    """Yield each figure of a month in which papers and entries disagree.

    Queries: 8.
    """
    papers, entries = asdict(same_from_papers(month)), asdict(same_from_entries(month))
    for name, amount in papers.items():
        if amount != entries[name]:
            what = f"{name.replace('_', ' ')}: {amount} by the papers, {entries[name]} by entries"
            yield Difference(f"month {show_month(month)}", what)


def report_differences() -> Iterator[Difference]:
    """Yield every disagreement between papers and entries, month by month.

    Queries: 6, and 8 for each month in which anything stands.
    """
    for month in months_written():
        yield from month_differences(month)


def months_written() -> list[int]:
    """Return every month in which a paper, a bill or a line of the ledger stands.

    Queries: 6.
    """
    found: set[int] = set()
    for model in (Line, SaleLine, Payment, Credit, CreditLine, Bill):
        found.update(model._default_manager.order_by().values_list("month", flat=True).distinct())
    return sorted(found)
