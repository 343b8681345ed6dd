"""Crediting sales: pieces that come back or died, and allowances."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import F

from fraginv.base import clock
from fraginv.base.actions.keeping import next_number
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.days import month_of
from fraginv.base.show import show_money
from fraginv.base.transactions import one_transaction
from fraginv.ledger.actions import post_entries
from fraginv.ledger.rules import Draft
from fraginv.stock.actions.claims import take_back
from fraginv.trade.actions.payments import paper_day
from fraginv.trade.actions.tallies import add_rows
from fraginv.trade.models import Balance, Credit, CreditLine, Customer, Sale, SaleLine, Taking
from fraginv.trade.queries.standing import credited_of, standing_of_sale
from fraginv.trade.rules.asked import CreditItem
from fraginv.trade.rules.credits import (
    Credited,
    Sold,
    credit_allowance,
    credit_pieces,
    split_refund,
)
from fraginv.trade.rules.entries import CREDIT, credit_postings
from fraginv.trade.rules.receipts import goods_of, spread
from fraginv.trade.rules.tallies import CREDITED, GIVEN, REFUNDED
from fraginv.trade.rules.words import CREDIT_SERIES, Means


@dataclass(frozen=True)
class Part:
    """What is credited of one line, and as which part of it."""

    line: SaleLine
    item: CreditItem
    worth: Credited
    number: int


@dataclass(frozen=True)
class Back:
    """How a credit is settled: off what is owed, and back by a means; minor units."""

    off_owed: int
    refund: int
    means: str
    steps: dict[str, int]

    @property
    def goods(self) -> int:
        """Return how much of the refund is for goods, without tax."""
        return -sum(self.steps.values())


@one_transaction
def credit_sale(
    sale_id: int,
    *,
    by: Person,
    items: Iterable[CreditItem] | None = None,
    alive: bool = False,
    refund_means: Means | None = None,
    reason: str = "",
    day: date | None = None,
) -> Credit:
    """Credit a sale: lowers what is owed, and gives back what was paid beyond that.

    Args: ``items`` parts of lines; without them all that is left of the sale,
        ``alive`` or not; ``refund_means`` how money goes back, ``account``
        keeps it as the customer's credit with us.
    Raises: InputError for a part that cannot be credited, or a refund without
        a means; NotFound.
    Lock: the sale's balance, frags by id, the customer, number series, the
        chain's head.
    """
    sale = Sale.objects.select_related("customer").filter(pk=sale_id).first()
    if sale is None:
        raise NotFound("There is no such sale.")
    day = paper_day(day, sale=sale)
    owed = Balance.objects.select_for_update().get(sale=sale).owed
    parts = parts_of(sale, items, alive=alive)
    total = sum(part.worth.net + part.worth.tax for part in parts)
    back = settle_credit(sale, parts, total=total, owed=owed, means=refund_means)
    take_pieces_back(parts, by=by)
    lower_balance(sale, owed=owed, back=back)
    credit = write_credit(sale, parts, back=back, reason=reason, day=day, by=by)
    write_parts(credit, parts, sale=sale, steps=back.steps)
    draft = credit_draft(credit)
    post_entries([draft] if draft.postings else [], by=by)
    return credit


def parts_of(sale: Sale, items: Iterable[CreditItem] | None, *, alive: bool) -> list[Part]:
    """Return what each item is worth, in the order of the frags' ids.

    Raises: InputError for an item that cannot be credited, or none at all.
    Queries: 2.
    """
    lines = {line.pk: line for line in SaleLine.objects.filter(sale=sale)}
    credited = credited_of(list(lines))
    if items is None:
        items = [
            CreditItem(pk, pieces=left, alive=left if alive else 0)
            for pk, line in lines.items()
            if (left := line.quantity - credited[pk][0].pieces)
        ]
    found = [one_part(item, lines=lines, credited=credited) for item in items]
    if not found:
        raise InputError("There is nothing to credit. Choose a line that is not credited yet.")
    if len({part.line.pk for part in found}) != len(found):
        raise InputError("A line is named twice. Credit each line once on one paper.")
    return sorted(found, key=lambda part: (part.line.frag_id or 0, part.line.pk))


def one_part(
    item: CreditItem, *, lines: dict[int, SaleLine], credited: dict[int, tuple[Credited, int]]
) -> Part:
    """Return what one item is worth.

    Raises: InputError naming the line.
    """
    line = lines.get(item.line_id)
    if line is None:
        raise InputError("A line to credit is not on this sale. Open the sale again.")
    sold = Sold(line.quantity, line.net, line.tax)
    before, last = credited[line.pk]
    if not 0 <= item.alive <= max(item.pieces, 0):
        raise InputError(f"{line.text}: {item.alive} alive of {item.pieces} credited cannot be.")
    if item.pieces and item.allowance:
        raise InputError(f"{line.text}: credit pieces or an allowance, not both on one line.")
    try:
        if item.allowance:
            worth = credit_allowance(sold, before=before, net=item.allowance)
        else:
            worth = credit_pieces(sold, before=before, pieces=item.pieces)
    except InputError as error:
        raise InputError(f"{line.text}: {error.message}") from error
    return Part(line=line, item=item, worth=worth, number=last + 1)


def settle_credit(
    sale: Sale, parts: Sequence[Part], *, total: int, owed: int, means: Means | None
) -> Back:
    """Return how a credit is settled, and what it takes from the goods received.

    Raises: InputError for money that goes back without a means.
    Queries: 5.
    """
    off_owed, refund = split_refund(total, owed=owed)
    if refund and means is None:
        shown = show_money(refund, organisation())
        raise InputError(f"{shown} goes back to the customer. Choose how.")
    standing = standing_of_sale(sale)
    weights = dict(standing.by_group)
    for part in parts:
        weights[part.line.group] -= part.worth.net
    net = sum(part.worth.net for part in parts)
    goods = goods_of(
        standing.received - refund, net=standing.net - net, total=standing.total - total
    )
    steps = spread(goods, weights, before=standing.taken)
    return Back(off_owed, refund, means.value if means and refund else "", steps)


def take_pieces_back(parts: Sequence[Part], *, by: Person) -> None:
    """Take pieces back into stock, the living ones free again."""
    for part in parts:
        if part.line.claim_id is None or not part.item.pieces:
            continue
        dead = part.item.pieces - part.item.alive
        if part.item.alive:
            take_back(part.line.claim_id, pieces=part.item.alive, alive=True, by=by)
        if dead:
            take_back(part.line.claim_id, pieces=dead, alive=False, by=by)


def lower_balance(sale: Sale, *, owed: int, back: Back) -> None:
    """Lower what is owed, and raise the customer's credit where the refund stays with us.

    Raises: InputError where a walk-in has no account; Conflict where the balance moved.
    Queries: 1 or 2.
    """
    left = owed - back.off_owed
    if not Balance.objects.filter(sale=sale, owed=owed).update(owed=left):
        raise Conflict("Somebody else has just paid or credited this sale. Look at it again.")
    if back.means != Means.ACCOUNT:
        return
    if sale.customer_id is None:
        raise InputError("A walk-in has no account with us. Choose another means.")
    Customer.objects.filter(pk=sale.customer_id).update(credit=F("credit") + back.refund)


def write_credit(
    sale: Sale, parts: Sequence[Part], *, back: Back, reason: str, day: date, by: Person
) -> Credit:
    """Write a credit's paper under the next number of its series."""
    net = sum(part.worth.net for part in parts)
    tax = sum(part.worth.tax for part in parts)
    return Credit.objects.create(
        series=CREDIT_SERIES,
        year=day.year,
        number=next_number(CREDIT_SERIES, year=day.year),
        sale=sale,
        day=day,
        month=month_of(day),
        at=clock.now(),
        reason=reason.strip(),
        net=net,
        tax=tax,
        total=net + tax,
        off_owed=back.off_owed,
        refund=back.refund,
        refund_means=back.means,
        refund_goods=back.goods,
        refund_tax=back.refund - back.goods,
        by=by,
    )


def write_parts(
    credit: Credit, parts: Sequence[Part], *, sale: Sale, steps: dict[str, int]
) -> None:
    """Write a credit's lines, and what it gave back for the goods of each group.

    Queries: 2.
    """
    shared = {"month": credit.month, "channel": sale.channel}
    lines = [
        CreditLine(
            credit=credit,
            line=part.line,
            part=part.number,
            pieces=part.item.pieces,
            alive=part.item.alive,
            net=part.worth.net,
            tax=part.worth.tax,
            group=part.line.group,
            **shared,
        )
        for part in parts
    ]
    takings = [
        Taking(sale=sale, credit=credit, group=group, amount=step, **shared)
        for group, step in steps.items()
    ]
    CreditLine.objects.bulk_create(lines)
    Taking.objects.bulk_create(takings)
    add_rows(REFUNDED, [credit])
    add_rows(CREDITED, lines)
    add_rows(GIVEN, takings)


def credit_draft(credit: Credit) -> Draft:
    """Return a credit's entry, to be posted."""
    postings = credit_postings(
        net=credit.net,
        tax=credit.tax,
        off_owed=credit.off_owed,
        refund=credit.refund,
        means=credit.refund_means,
    )
    return Draft(credit.day, CREDIT, credit.paper, "", postings)
