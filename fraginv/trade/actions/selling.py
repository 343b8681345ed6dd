"""Selling: claims taken, the paper written, its entry posted, money taken; all or nothing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from fraginv.base import clock
from fraginv.base.actions.keeping import next_number
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.days import month_of
from fraginv.base.rules.roles import Right
from fraginv.base.show import show_money
from fraginv.base.transactions import one_transaction
from fraginv.ledger.actions import post_entries
from fraginv.ledger.rules import Draft
from fraginv.stock.actions.claims import take_for_sale
from fraginv.stock.models import Claim, Frag
from fraginv.stock.queries.frags import frags_with
from fraginv.trade.actions.customers import paper_name_of
from fraginv.trade.actions.payments import (
    add_payment,
    payment_draft,
    refuse_walk_in_credit,
    spend_credit,
)
from fraginv.trade.actions.tallies import add_rows
from fraginv.trade.models import Balance, Customer, CustomerKind, Sale, SaleLine
from fraginv.trade.queries.prices import PriceList, Taxed, get_kind, prices_for, tax_of
from fraginv.trade.rules.asked import SaleItem, Tender
from fraginv.trade.rules.entries import SALE, sale_postings
from fraginv.trade.rules.receipts import Standing, check_payment
from fraginv.trade.rules.sums import Asked, SaleSums, sale_sums
from fraginv.trade.rules.tallies import SOLD
from fraginv.trade.rules.words import PAYMENT_SERIES, SALE_SERIES, Channel, Unit


@dataclass(frozen=True)
class Priced:
    """An item with its frag and what one piece of it costs, in minor units."""

    item: SaleItem
    frag: Frag
    unit_price: int
    text: str


@one_transaction
def post_sale(
    items: Iterable[SaleItem],
    *,
    by: Person,
    channel: Channel = Channel.COUNTER,
    customer: Customer | None = None,
    for_name: str = "",
    discount: int = 0,
    payment: Tender | None = None,
    day: date | None = None,
) -> Sale:
    """Sell pieces of frags to a customer, a name or a walk-in, and take money for them.

    Args: ``discount`` off the whole sale, in minor units; ``payment`` at most
        the total; ``day`` the business day (today), not in the future.
    Raises: PriceMissing; InputError for a bad number, a discount or payment
        that is too large, or no tax rate; Conflict where pieces are not there
        to be sold; NotAllowed for a price of one's own without the right.
    Lock: frags by id, the customer, number series, the chain's head.
    """
    day = sale_day(day)
    kind = customer.kind if customer else get_kind()
    priced = price_items(items, prices=prices_for(kind, day=day), by=by)
    taxed = tax_of(customer, day=day)
    sums = work_out(priced, taxed, discount=discount, payment=payment, customer=customer)
    claims = take_claims(priced, customer=customer, by=by)
    if payment is not None:
        spend_credit(customer, payment)
    sale = write_sale(
        sums, taxed, day=day, channel=channel, kind=kind, customer=customer, name=for_name, by=by
    )
    write_lines(sale, priced, claims=claims, sums=sums)
    settle(sale, priced, sums=sums, payment=payment, by=by)
    return sale


def work_out(
    priced: Sequence[Priced],
    taxed: Taxed,
    *,
    discount: int,
    payment: Tender | None,
    customer: Customer | None,
) -> SaleSums:
    """Return what a sale comes to, and refuse a payment that does not fit it.

    Raises: InputError.
    """
    currency = organisation().currency
    sums = sale_sums(
        [Asked(one.item.pieces, one.unit_price, one.item.discount) for one in priced],
        discount=discount,
        rate=taxed.rate,
        basis=taxed.basis,
        currency=currency,
    )
    if payment is not None:
        refuse_walk_in_credit(customer, payment)
        check_payment(payment.amount, owed=sums.total, currency=currency)
    return sums


def sale_day(day: date | None) -> date:
    """Return the business day of a sale, today unless another is given.

    Raises: InputError for a day in the future.
    Queries: 1 outside a request.
    """
    present = today()
    if day is not None and day > present:
        raise InputError(f"The day {day} is in the future. Sell on {present} or before.")
    return day or present


def price_items(items: Iterable[SaleItem], *, prices: PriceList, by: Person) -> list[Priced]:
    """Return the items with their frags and prices, by the frags' ids.

    Raises: InputError for nothing to sell; PriceMissing; NotAllowed.
    Queries: 1.
    """
    wanted = sorted(items, key=lambda item: item.frag_id)
    if not wanted:
        raise InputError("There is nothing to sell. Add a piece first.")
    frags = {frag.pk: frag for frag in frags_with(item.frag_id for item in wanted)}
    return [price_item(item, frags[item.frag_id], prices=prices, by=by) for item in wanted]


def price_item(item: SaleItem, frag: Frag, *, prices: PriceList, by: Person) -> Priced:
    """Return an item with its price and the words for its line.

    Raises: PriceMissing; NotAllowed for a price of one's own without the right.
    """
    text = f"{frag.variety.name}, size {frag.size}" if frag.size else frag.variety.name
    text = f"{text}, fresh cut" if frag.fresh else text
    if item.unit_price is not None:
        if not by.can(Right.PRICE_BY_HAND):
            raise NotAllowed("Your role does not let you change a price. Ask a manager.")
        return Priced(item, frag, item.unit_price, f"{text} ({show_code(frag.code_id)})")
    chosen = prices.choose(frag)
    if chosen.offer.unit == Unit.HEAD:
        each = show_money(chosen.offer.amount, organisation())
        text = f"{text}, {frag.heads} {'head' if frag.heads == 1 else 'heads'} at {each}"
    return Priced(item, frag, chosen.amount, f"{text} ({show_code(frag.code_id)})")


def take_claims(priced: Sequence[Priced], *, customer: Customer | None, by: Person) -> list[Claim]:
    """Take the pieces of all items, in the order of the frags' ids.

    Raises: Conflict where pieces are held for somebody else or not there.
    """
    refuse_strange_holds(priced, customer=customer)
    return [
        take_for_sale(one.frag.pk, pieces=one.item.pieces, by=by, hold_id=one.item.hold_id)
        for one in priced
    ]


def refuse_strange_holds(priced: Sequence[Priced], *, customer: Customer | None) -> None:
    """Refuse to sell one customer's hold to another.

    Raises: Conflict naming who has it.
    Queries: 1, or none where nothing is held.
    """
    wanted = [one.item.hold_id for one in priced if one.item.hold_id is not None]
    if not wanted:
        return
    mine = customer.party_id if customer else None
    holds = Claim.objects.filter(pk__in=wanted, party__isnull=False).exclude(party=mine)
    for hold in holds.select_related("party", "frag"):
        raise Conflict(
            f"{show_code(hold.frag.code_id)} is put aside for {hold.holder}. "
            "Sell it to them, or let the hold go first."
        )


def write_sale(
    sums: SaleSums,
    taxed: Taxed,
    *,
    day: date,
    channel: Channel,
    kind: CustomerKind,
    customer: Customer | None,
    name: str,
    by: Person,
) -> Sale:
    """Write a sale's paper under the next number of its series."""
    return Sale.objects.create(
        series=SALE_SERIES,
        year=day.year,
        number=next_number(SALE_SERIES, year=day.year),
        day=day,
        month=month_of(day),
        at=clock.now(),
        channel=Channel(channel).value,
        kind=kind,
        customer=customer,
        paper_name=paper_name_of(customer, name=name),
        by=by,
        gross=sums.gross,
        discounts=sums.discounts,
        net=sums.net,
        tax=sums.tax,
        total=sums.total,
        tax_name=taxed.name,
        tax_rate=taxed.rate,
        tax_basis=taxed.basis,
        exempt_by=taxed.exempt_by,
    )


def write_lines(
    sale: Sale, priced: Sequence[Priced], *, claims: Sequence[Claim], sums: SaleSums
) -> None:
    """Write a sale's lines.

    Queries: 1.
    """
    lines = [
        SaleLine(
            sale=sale,
            position=position,
            frag=one.frag,
            claim=claim,
            variety=one.frag.variety,
            group=one.frag.variety.group,
            size=one.frag.size,
            text=one.text,
            quantity=one.item.pieces,
            unit_price=one.unit_price,
            gross=line.gross,
            discount=line.discount,
            net=line.net,
            tax=line.tax,
            month=sale.month,
            channel=sale.channel,
        )
        for position, (one, claim, line) in enumerate(
            zip(priced, claims, sums.lines, strict=True), start=1
        )
    ]
    SaleLine.objects.bulk_create(lines)
    add_rows(SOLD, lines)


def settle(
    sale: Sale, priced: Sequence[Priced], *, sums: SaleSums, payment: Tender | None, by: Person
) -> None:
    """Post a sale's entry, and the payment with its own where there is one.

    Lock: the payments' number series before the chain's head.
    """
    drafts = [sale_draft(sale, priced, sums=sums)]
    paid = payment.amount if payment else 0
    Balance.objects.create(sale=sale, owed=sale.total - paid, day=sale.day, customer=sale.customer)
    if payment is not None:
        standing = Standing(net=sale.net, total=sale.total, by_group=by_group(priced, sums, "net"))
        number = next_number(PAYMENT_SERIES, year=sale.year)
        drafts.append(
            payment_draft(
                add_payment(sale, payment, standing=standing, number=number, day=sale.day, by=by)
            )
        )
    post_entries([draft for draft in drafts if draft.postings], by=by)


def sale_draft(sale: Sale, priced: Sequence[Priced], *, sums: SaleSums) -> Draft:
    """Return a sale's entry, to be posted."""
    postings = sale_postings(
        by_group(priced, sums, "gross"), discounts=sale.discounts, tax=sale.tax
    )
    return Draft(sale.day, SALE, sale.paper, "", postings)


def by_group(
    priced: Sequence[Priced], sums: SaleSums, column: Literal["gross", "net"]
) -> dict[str, int]:
    """Add up a sale's lines for each group."""
    found: dict[str, int] = {}
    for one, line in zip(priced, sums.lines, strict=True):
        group = one.frag.variety.group
        found[group] = found.get(group, 0) + getattr(line, column)
    return found
