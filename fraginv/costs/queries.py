"""Reading bills: the month's costs, the list, and what does not agree."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.db.models import F, Model, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from fraginv.base.errors import NotFound
from fraginv.base.models import NumberSeries, Party
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.costs.models import Bill, BillLine, CostKind
from fraginv.costs.rules import (
    IMPORTED_SERIES,
    SERIES,
    Basis,
    Settled,
    bill_label,
    read_basis,
    split_amount,
)
from fraginv.ledger.models import Line
from fraginv.ledger.rules import PAYABLES, Part, number_gaps

SHOWN_SUPPLIERS = 200


@dataclass(frozen=True, slots=True)
class CostsOfMonth:
    """A month's costs in minor units: paid or owed by kind, and what was given in kind beside.

    The display's part is the running cost; the frags' part is direct cost.
    """

    month: int
    basis: Basis
    display_by_kind: dict[str, int] = field(default_factory=dict)
    direct_by_kind: dict[str, int] = field(default_factory=dict)
    in_kind: int = 0
    in_kind_direct: int = 0

    @property
    def display_total(self) -> int:
        """Return the display's running costs."""
        return sum(self.display_by_kind.values())

    @property
    def direct_total(self) -> int:
        """Return the frags' direct costs."""
        return sum(self.direct_by_kind.values())

    @property
    def is_empty(self) -> bool:
        """Tell whether no cost belongs to the month."""
        return not (self.display_total or self.direct_total or self.in_kind or self.in_kind_direct)


def costs_of_month(month: int, *, basis: str = Basis.SALES) -> CostsOfMonth:
    """Return a month's costs by kind; on the cash basis what was paid in it.

    What is given in kind counts by its bill's day on either basis.
    Raises: InputError for another basis.
    Queries: 1.
    """
    chosen = read_basis(basis)
    rows = (
        BillLine.objects.filter(lines_of(month, chosen))
        .order_by("kind__folded")
        .values_list("kind__name", "bill__settled")
        .annotate(display=Sum("display"), direct=Sum("direct"))
    )
    costs = CostsOfMonth(month, chosen)
    given = given_direct = 0
    for kind, settled, display, direct in rows:
        if settled == Settled.IN_KIND:
            given, given_direct = given + display, given_direct + direct
            continue
        add_to(costs.display_by_kind, kind, display)
        add_to(costs.direct_by_kind, kind, direct)
    return CostsOfMonth(
        month, chosen, costs.display_by_kind, costs.direct_by_kind, given, given_direct
    )


def running_costs_of_months(first: int, *, last: int, basis: str = Basis.SALES) -> dict[int, int]:
    """Return the display's running costs of each month that has any, both ends inside.

    Raises: InputError for another basis.
    Queries: 1.
    """
    paid = read_basis(basis) == Basis.CASH
    month = "bill__paid_month" if paid else "bill__month"
    rows = BillLine.objects.exclude(bill__settled=Settled.IN_KIND.value)
    rows = rows.filter(**{f"{month}__range": (first, last)}).order_by()
    return dict(rows.values_list(month).annotate(total=Sum("display")))


def lines_of(month: int, basis: Basis) -> Q:
    """Return which lines of bills belong to a month."""
    if basis == Basis.SALES:
        return Q(bill__month=month)
    given = Q(bill__settled=Settled.IN_KIND.value, bill__month=month)
    return Q(bill__settled=Settled.PAID.value, bill__paid_month=month) | given


def add_to(totals: dict[str, int], kind: str, amount: int) -> None:
    """Add an amount to a kind's total; a kind that comes to nothing is left out."""
    if amount:
        totals[kind] = totals.get(kind, 0) + amount


def bills_of_month(month: int, *, size: int, after: int | None = None) -> Portion[Bill]:
    """Return a page of a month's bills, newest first, with suppliers, lines and kinds.

    Args: ``after`` the id of the last bill on the page before.
    Raises: NotFound for a bill that is not there.
    Queries: 3, and 1 more from the second page on.
    """
    rows = Bill.objects.filter(month=month).select_related("supplier")
    rows = rows.prefetch_related("lines__kind")
    return portion_of(rows, order=["-day", "-pk"], size=size, after=after)


def get_bill(bill_id: int) -> Bill:
    """Return a bill with its supplier, entries, who entered it, and its lines.

    Raises: NotFound.
    Queries: 3.
    """
    rows = Bill.objects.select_related("supplier", "by", "entry", "payment_entry")
    bill = rows.prefetch_related("lines__kind").filter(pk=bill_id).first()
    if bill is None:
        raise NotFound("There is no such bill. Look for it in its month.")
    return bill


def kinds_known() -> list[str]:
    """Return the names of all kinds of cost.

    Queries: 1.
    """
    return list(CostKind.objects.values_list("name", flat=True))


def suppliers_known() -> list[str]:
    """Return the names of suppliers of bills, the most recent two hundred.

    Queries: 1.
    """
    recent = Bill.objects.filter(supplier=OuterRef("pk")).order_by("-pk").values("pk")[:1]
    rows = Party.objects.annotate(last_bill=Subquery(recent)).exclude(last_bill=None)
    return list(rows.order_by("-last_bill").values_list("name", flat=True)[:SHOWN_SUPPLIERS])


def cost_differences() -> Iterator[Difference]:
    """Yield everything in which bills, their lines, their entries and numbers disagree.

    Queries: 13.
    """
    yield from total_differences()
    yield from share_differences()
    yield from payable_differences()
    yield from month_differences()
    yield from kind_differences()
    yield from number_differences()


def sum_of(rows: "QuerySet[Model]", column: str, *, group: str) -> Coalesce:
    """Return a column's sum over rows that the outer query picks, zero where there are none."""
    totals = rows.order_by().values(group).annotate(total=Sum(column)).values("total")
    return Coalesce(Subquery(totals), 0)


def total_differences() -> Iterator[Difference]:
    """Yield bills whose amount is not that of their lines or of their entry."""
    of_lines = sum_of(BillLine.objects.filter(bill=OuterRef("pk")), "amount", group="bill")
    debits = Line.objects.filter(entry=OuterRef("entry"), amount__gt=0)
    rows = Bill.objects.annotate(
        of_lines=of_lines, of_entry=sum_of(debits, "amount", group="entry")
    )
    for bill in rows.exclude(amount=F("of_lines"), of_entry=F("amount")).order_by("pk"):
        if bill.amount != bill.of_lines:
            what = f"says {bill.amount} in all, its lines come to {bill.of_lines}"
            yield Difference(f"bill {bill.label}", what)
        if bill.amount != bill.of_entry:
            what = f"says {bill.amount} in all, its entry {bill.of_entry}"
            yield Difference(f"bill {bill.label}", what)


def share_differences() -> Iterator[Difference]:
    """Yield lines that are split otherwise than their bill's share says."""
    for line in BillLine.objects.select_related("bill", "kind").order_by("pk").iterator():
        due = split_amount(line.amount, share=line.bill.display_share)
        if (line.display, line.direct) != (due.display, due.direct):
            what = f"bears {line.display} for the display, its share comes to {due.display}"
            yield Difference(f"bill {line.bill.label}, {line.kind}", what)


def payable_differences() -> Iterator[Difference]:
    """Yield bills that owe what the ledger does not, or the other way round."""
    posted = Line.objects.filter(account=PAYABLES)
    rows = Bill.objects.annotate(
        owed=-sum_of(posted.filter(entry=OuterRef("entry")), "amount", group="entry")
        - sum_of(posted.filter(entry=OuterRef("payment_entry")), "amount", group="entry")
    )
    is_owed = Q(settled=Settled.OWED.value)
    wrong = (is_owed & ~Q(owed=F("amount"))) | (~is_owed & ~Q(owed=0))
    for bill in rows.filter(wrong).order_by("pk"):
        due = bill.amount if bill.is_owed else 0
        yield Difference(f"bill {bill.label}", f"owes {due}, its entries say {bill.owed}")


def month_differences() -> Iterator[Difference]:
    """Yield bills whose months, or whose entry's day, are not those of their own days."""
    rows = Bill.objects.select_related("entry", "payment_entry").order_by("pk")
    for bill in rows.iterator():
        if bill.month != month_of(bill.day) or bill.entry.day != bill.day:
            what = f"is of {bill.day}, stands in {bill.month}, and was posted on {bill.entry.day}"
            yield Difference(f"bill {bill.label}", what)
        if bill.paid_on and bill.paid_month != month_of(bill.paid_on):
            what = f"was paid on {bill.paid_on}, but stands as paid in {bill.paid_month}"
            yield Difference(f"bill {bill.label}", what)
        posted = (bill.payment_entry or bill.entry).day
        if bill.paid_on and bill.paid_on != posted:
            what = f"was paid on {bill.paid_on}, its payment was posted on {posted}"
            yield Difference(f"bill {bill.label}", what)


def kind_differences() -> Iterator[Difference]:
    """Yield months in which the bills of a kind come to something else than its account.

    Only what was paid or is owed has accounts by kind.
    """
    of_bills = dict(totals_of_bills())
    of_entries = {
        (month, name, part): total
        for month, name, part, total in Line.objects.filter(
            entry__source="bill", account__part__in=[Part.RUNNING.value, Part.DIRECT.value]
        )
        .order_by()
        .values_list("month", "account__name", "account__part")
        .annotate(total=Sum("amount"))
    }
    for key in sorted({*of_bills, *of_entries}):
        bills, entries = of_bills.get(key, 0), of_entries.get(key, 0)
        if bills != entries:
            month, name, part = key
            what = f"{part} cost is {bills} by the bills, {entries} by the entries"
            yield Difference(f"{name} in {month}", what)


def totals_of_bills() -> Iterator[tuple[tuple[int, str, str], int]]:
    """Yield the total of each month, kind and part of cost that the bills come to."""
    rows = (
        BillLine.objects.exclude(bill__settled=Settled.IN_KIND.value)
        .order_by()
        .values_list("bill__month", "kind__name")
        .annotate(display=Sum("display"), direct=Sum("direct"))
    )
    for month, kind, display, direct in rows:
        for part, total in ((Part.RUNNING, display), (Part.DIRECT, direct)):
            if total:
                yield (month, kind, part.value), total


def number_differences() -> Iterator[Difference]:
    """Yield numbers that were given and have no bill, and bills beyond the last number given."""
    given = NumberSeries.objects.filter(series__in=[SERIES, IMPORTED_SERIES])
    lasts = {(row.series, row.year): row.last for row in given}
    for series, year in sorted({*lasts, *Bill.objects.values_list("series", "year").distinct()}):
        rows = Bill.objects.filter(series=series, year=year)
        last = lasts.get((series, year), 0)
        yield from gaps(series, year, rows.values_list("number", flat=True), last=last)


def gaps(series: str, year: int, numbers: Iterable[int], *, last: int) -> Iterator[Difference]:
    """Yield what is wrong with the numbers of one series of a year."""
    known = set(numbers)
    for missing in number_gaps([*known, last + 1]):
        where = f"bill {bill_label(series, year=year, number=missing)}"
        yield Difference(where, "is missing from its series")
    for beyond in sorted(number for number in known if number > last):
        where = f"bill {bill_label(series, year=year, number=beyond)}"
        yield Difference(where, f"has a number that was never given: the last is {last}")
