"""Reading sales, their payments and credits, and what is owed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.rules.cautions import CAUTIONS, Caution
from fraginv.ledger.models import Entry
from fraginv.trade.models import Credit, CreditLine, Payment, Sale, SaleLine
from fraginv.trade.queries.standing import credited_of
from fraginv.trade.rules.entries import CREDIT, PAYMENT, SALE

PAGE = 40
WALK_IN = "Walk-in"


@dataclass(frozen=True)
class PaperLine:
    """One line of a sale, and how many of its pieces are not credited yet."""

    line: SaleLine
    left: int
    credited: int


@dataclass(frozen=True)
class SalePaper:
    """A sale with everything that stands on it and came after it."""

    sale: Sale
    lines: Sequence[PaperLine]
    payments: Sequence[Payment]
    credits: Sequence[Credit]
    entries: Sequence[Entry]

    @property
    def owed(self) -> int:
        """Return what is still owed, in minor units."""
        return self.sale.balance.owed

    @property
    def to_whom(self) -> str:
        """Return the name on the paper."""
        return name_on(self.sale)

    @property
    def caution(self) -> Caution | None:
        """Return what whoever takes the pieces home has to beware of, if anything."""
        return CAUTIONS["palytoxin"] if self.to_beware else None

    @property
    def to_beware(self) -> list[str]:
        """Return the varieties on the paper that may carry palytoxin, each once."""
        return list(
            dict.fromkeys(
                row.line.variety.name
                for row in self.lines
                if row.line.variety and row.line.variety.genus.palytoxin
            )
        )

    @property
    def may_credit(self) -> bool:
        """Tell whether any piece is left to credit."""
        return any(line.left for line in self.lines)


def name_on(sale: Sale) -> str:
    """Return the name that stands on a sale's paper.

    Queries: 1 unless the name was fetched along.
    """
    return sale.paper_name.name if sale.paper_name else WALK_IN


def get_sale(sale_id: int) -> Sale:
    """Return a sale with whom it was to, who sold, and what is owed.

    Raises: NotFound.
    Queries: 1.
    """
    found = (
        Sale.objects.select_related("customer__party", "kind", "paper_name", "by", "balance")
        .filter(pk=sale_id)
        .first()
    )
    if found is None:
        raise NotFound("There is no such sale.")
    return found


def sale_paper(sale_id: int) -> SalePaper:
    """Return a sale with its lines, payments, credits and entries.

    Raises: NotFound.
    Queries: 8.
    """
    sale = get_sale(sale_id)
    lines = list(sale.lines.select_related("frag", "variety__genus").order_by("position"))
    payments = list(sale.payments.select_related("by"))
    credits_ = list(
        sale.credits.select_related("by").prefetch_related(
            Prefetch("lines", CreditLine.objects.select_related("line"))
        )
    )
    credited = credited_of([line.pk for line in lines])
    return SalePaper(
        sale=sale,
        lines=[
            PaperLine(line, line.quantity - before.pieces, before.net)
            for line in lines
            for before, _ in [credited[line.pk]]
        ],
        payments=payments,
        credits=credits_,
        entries=list(entries_of(sale, payments=payments, credits=credits_)),
    )


def entries_of(
    sale: Sale, *, payments: Sequence[Payment], credits: Sequence[Credit]
) -> QuerySet[Entry]:
    """Return the entries of a sale and of the papers about it, with their lines.

    Queries: none until it is read, then 2.
    """
    papers = (
        Q(source=SALE, paper=sale.paper)
        | Q(source=PAYMENT, paper__in=[payment.paper for payment in payments])
        | Q(source=CREDIT, paper__in=[credit.paper for credit in credits])
    )
    return Entry.objects.filter(papers).prefetch_related("lines__account").order_by("position")


def recent_sales(*, before: tuple[date, int] | None = None, limit: int = PAGE) -> QuerySet[Sale]:
    """Return sales, the latest day first, with names and what is owed.

    Args: ``before`` day and id of the last sale on the page before.
    Queries: none until it is read, then 1.
    """
    rows = Sale.objects.select_related("customer__party", "paper_name", "balance", "by")
    if before is not None:
        day, pk = before
        rows = rows.filter(day__lte=day).filter(Q(day__lt=day) | Q(pk__lt=pk))
    return rows.order_by("-day", "-pk")[:limit]


def owing(*, limit: int | None = None) -> QuerySet[Sale]:
    """Return sales on which something is owed, the oldest first.

    Queries: none until it is read, then 1.
    """
    rows = (
        Sale.objects.select_related("customer__party", "paper_name", "balance")
        .filter(balance__owed__gt=0)
        .order_by("balance__day", "balance__sale_id")
    )
    return rows if limit is None else rows[:limit]
