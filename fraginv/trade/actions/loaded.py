"""Writing sales that a table brought, many at once."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from fraginv.base import clock
from fraginv.base.actions.keeping import next_numbers
from fraginv.base.errors import FraginvError
from fraginv.base.models import Person
from fraginv.base.rules.days import month_of
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.ledger.actions import post_entries
from fraginv.ledger.rules import Draft
from fraginv.stock.actions.claims import take_for_sale
from fraginv.trade.actions.buyers import Buyer, buyers_of, said_of_made
from fraginv.trade.actions.payments import payment_draft
from fraginv.trade.actions.tallies import add_rows
from fraginv.trade.models import (
    Balance,
    CustomerKind,
    Payment,
    Sale,
    SaleLine,
    Taking,
)
from fraginv.trade.rules.entries import SALE, sale_postings
from fraginv.trade.rules.loaded import LoadedLine, LoadedSale
from fraginv.trade.rules.receipts import Standing, receive
from fraginv.trade.rules.tallies import PAID, SOLD, TAKEN
from fraginv.trade.rules.words import (
    LOADED_PAYMENT_SERIES,
    LOADED_SALE_SERIES,
    Basis,
)

BATCH = 1_000


def write_loaded(sales: Sequence[LoadedSale], *, by: Person) -> list[str]:
    """Write sales with their lines, payments and entries inside the caller's transaction.

    Returns: what to say about it: whom it made, which numbers it gave.
    Raises: TableErrors for each code whose pieces are not there to be sold.
    Lock: frags by id, number series, the chain's head.
    Queries: as ``fraginv.trade.loading.sales.load``.
    """
    claims = take_coded(sales, by=by)
    buyers, made = buyers_of(sales)
    papers = write_sales(sales, buyers=buyers, by=by)
    write_sale_lines(sales, papers, claims=claims)
    payments = write_payments(sales, papers, by=by)
    drafts = [draft_of(sale, paper) for sale, paper in zip(sales, papers, strict=True)]
    drafts += [payment_draft(payment) for payment in payments]
    post_entries([draft for draft in drafts if draft.postings], by=by)
    numbers = f"{papers[0].paper} to {papers[-1].paper}" if len(papers) > 1 else papers[0].paper
    return [*said_of_made(made), f"Sales written: {len(papers)}, {numbers}."]


def take_coded(sales: Sequence[LoadedSale], *, by: Person) -> dict[int, int]:
    """Take the pieces of lines with a code, by the frags' ids.

    Returns: the claim of each line of the table.
    Raises: TableErrors with every line whose pieces are not there.
    """
    coded = [line for sale in sales for line in sale.lines if line.frag is not None]
    claims: dict[int, int] = {}
    problems = []
    for line in sorted(coded, key=lambda line: (line.frag or 0, line.line)):
        try:
            claim = take_for_sale(line.frag or 0, pieces=line.quantity, by=by)
        except FraginvError as error:
            problems.append(Problem(line.line, "code", error.message))
        else:
            claims[line.line] = claim.pk
    if problems:
        raise TableErrors(problems)
    return claims


def write_sales(
    sales: Sequence[LoadedSale], *, buyers: Mapping[str, Buyer], by: Person
) -> list[Sale]:
    """Write the sales' papers and balances, numbered in the order of the table.

    Queries: 1, 2 for each year, and 2 for each batch.
    """
    kinds = {kind.name: kind for kind in CustomerKind.objects.all()}
    numbers = next_numbers(LOADED_SALE_SERIES, years=[sale.first.day.year for sale in sales])
    now = clock.now()
    papers = [
        paper_of(
            sale,
            number=number,
            kind=kinds[sale.kind],
            buyer=buyers.get(sale.first.customer.casefold()),
            by=by,
            at=now,
        )
        for sale, number in zip(sales, numbers, strict=True)
    ]
    Sale.objects.bulk_create(papers, batch_size=BATCH)
    Balance.objects.bulk_create(
        [
            Balance(
                sale=paper,
                owed=paper.total - sum(sale.received().values()),
                day=paper.day,
                customer=paper.customer,
            )
            for sale, paper in zip(sales, papers, strict=True)
        ],
        batch_size=BATCH,
    )
    return papers


def paper_of(
    sale: LoadedSale,
    *,
    number: int,
    kind: CustomerKind,
    buyer: Buyer | None,
    by: Person,
    at: datetime,
) -> Sale:
    """Return a sale's paper, to be saved."""
    first, rate = sale.first, sale.one_rate
    return Sale(
        series=LOADED_SALE_SERIES,
        year=first.day.year,
        number=number,
        day=first.day,
        month=month_of(first.day),
        at=at,
        channel=first.channel,
        kind=kind,
        customer=buyer.customer if buyer else None,
        paper_name=buyer.paper_name if buyer else None,
        by=by,
        gross=sum(line.gross for line in sale.lines),
        discounts=sum(line.discount for line in sale.lines),
        net=sale.net,
        tax=sale.tax,
        total=sale.total,
        tax_rate=rate,
        tax_basis=(Basis.STATED if rate is None else Basis.ITEM).value,
        imported=True,
    )


def write_sale_lines(
    sales: Sequence[LoadedSale], papers: Sequence[Sale], *, claims: Mapping[int, int]
) -> None:
    """Write the lines of all sales.

    Queries: 1 for each batch.
    """
    lines = [
        line_of(line, paper=paper, position=position, claim=claims.get(line.line))
        for sale, paper in zip(sales, papers, strict=True)
        for position, line in enumerate(sale.lines, start=1)
    ]
    SaleLine.objects.bulk_create(lines, batch_size=BATCH)
    add_rows(SOLD, lines)


def line_of(line: LoadedLine, *, paper: Sale, position: int, claim: int | None) -> SaleLine:
    """Return a line of a sale, to be saved."""
    return SaleLine(
        sale=paper,
        position=position,
        frag_id=line.frag,
        claim_id=claim,
        variety_id=line.variety,
        group=line.group,
        size=line.size,
        text=line.text,
        quantity=line.quantity,
        unit_price=line.unit_price,
        gross=line.gross,
        discount=line.discount,
        net=line.net,
        tax=line.tax,
        month=paper.month,
        channel=paper.channel,
    )


def write_payments(
    sales: Sequence[LoadedSale], papers: Sequence[Sale], *, by: Person
) -> list[Payment]:
    """Write one payment for each means of each sale, and what it brought for goods.

    Queries: 2 for each year, and 2 for each batch.
    """
    received = [sale.received() for sale in sales]
    years = [paper.year for paper, means in zip(papers, received, strict=True) for _ in means]
    numbers = iter(next_numbers(LOADED_PAYMENT_SERIES, years=years))
    payments: list[Payment] = []
    takings: list[Taking] = []
    for sale, paper, by_means in zip(sales, papers, received, strict=True):
        standing = Standing(net=paper.net, total=paper.total, by_group=sale.by_group("net"))
        for means, amount in by_means.items():
            steps, standing = receive(standing, amount)
            payment = payment_of(
                paper,
                means=means,
                amount=amount,
                goods=sum(steps.values()),
                by=by,
                number=next(numbers),
            )
            payments.append(payment)
            takings += takings_of(payment, paper=paper, steps=steps)
    Payment.objects.bulk_create(payments, batch_size=BATCH)
    Taking.objects.bulk_create(takings, batch_size=BATCH)
    add_rows(PAID, payments)
    add_rows(TAKEN, takings)
    return payments


def payment_of(
    paper: Sale, *, means: str, amount: int, goods: int, by: Person, number: int
) -> Payment:
    """Return a payment on the day of its sale, to be saved."""
    return Payment(
        series=LOADED_PAYMENT_SERIES,
        year=paper.year,
        number=number,
        sale=paper,
        day=paper.day,
        month=paper.month,
        at=paper.at,
        means=means,
        amount=amount,
        goods=goods,
        tax=amount - goods,
        by=by,
    )


def takings_of(payment: Payment, *, paper: Sale, steps: Mapping[str, int]) -> list[Taking]:
    """Return what a payment brought for the goods of each group, to be saved."""
    return [
        Taking(
            sale=paper,
            payment=payment,
            month=paper.month,
            channel=paper.channel,
            group=group,
            amount=step,
        )
        for group, step in steps.items()
    ]


def draft_of(sale: LoadedSale, paper: Sale) -> Draft:
    """Return a sale's entry, to be posted."""
    postings = sale_postings(sale.by_group("gross"), discounts=paper.discounts, tax=paper.tax)
    return Draft(paper.day, SALE, paper.paper, "", postings)
