"""Entering bills, one or many, and paying them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from fraginv.base.actions.founding import parties_named, party_named
from fraginv.base.actions.keeping import next_numbers
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Party, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.columns import read_text
from fraginv.base.rules.days import month_of
from fraginv.base.transactions import one_transaction
from fraginv.costs.models import Bill, BillLine, CostKind
from fraginv.costs.queries import get_bill
from fraginv.costs.rules import (
    HALF,
    IMPORTED_SERIES,
    LONGEST_NOTE,
    LONGEST_SUPPLIER,
    SERIES,
    BillDraft,
    BillItem,
    Part,
    Serves,
    Settled,
    bill_label,
    bill_postings,
    check_bill,
    check_payment_day,
    fold_kind,
    kinds_of,
    payment_postings,
    read_serves,
    read_settled,
    split_amount,
    why_not_owed,
)
from fraginv.ledger.actions import ensure_cost_account, post_entries, post_entry
from fraginv.ledger.models import Entry
from fraginv.ledger.rules import Draft

SOURCE = "bill"
PAYMENT_SOURCE = "bill payment"
BATCH = 1_000
NAMED_AT_MOST = 10
LONGEST_MEMO = 200


@dataclass
class Book:
    """What bills refer to: kinds by folded name, parties by name, accounts by kind."""

    kinds: dict[str, CostKind] = field(default_factory=dict)
    parties: Mapping[str, Party] = field(default_factory=dict)
    running: dict[str, str] = field(default_factory=dict)
    direct: dict[str, str] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Entered:
    """Bills that were entered, and what their reader should know besides."""

    bills: list[Bill]
    said: list[str] = field(default_factory=list)

    @property
    def bill(self) -> Bill:
        """Return the first bill."""
        return self.bills[0]


@one_transaction
def add_bill(
    items: Sequence[BillItem],
    *,
    day: date,
    by: Person,
    supplier: str = "",
    serves: str = Serves.DISPLAY,
    display_share: Decimal = HALF,
    settled: str = Settled.PAID,
    paid_by: str = "transfer",
    note: str = "",
) -> Entered:
    """Enter one bill and post it; a kind or supplier that is new is made, and said.

    Args: ``items`` in minor units; ``display_share`` from 0 to 1 counts for shared
        bills alone; ``paid_by`` (transfer or cash) for paid ones, paid on their day.
    Raises: InputError for what no bill can be; nothing is written then.
    Lock: number series, then the chain's head, until the transaction ends.
    Queries: 15 for one item, more where something is new.
    """
    draft = BillDraft(
        items=tuple(items),
        day=day,
        supplier=read_text(supplier, longest=LONGEST_SUPPLIER),
        serves=read_serves(serves),
        display_share=display_share,
        settled=read_settled(settled),
        paid_by=paid_by,
        note=read_text(note, longest=LONGEST_NOTE),
    )
    return enter_bills([draft], by=by)


@one_transaction
def enter_bills(drafts: Sequence[BillDraft], *, by: Person, imported: bool = False) -> Entered:
    """Enter bills in the order given, all or none, each with its entry.

    Args: ``imported`` gives them numbers of the series kept for what came from before.
    Raises: InputError for the first bill that cannot be entered.
    Queries: as ``add_bill``, and 1 for each thousand rows of each table.
    """
    if not drafts:
        raise InputError("There is no bill to enter.")
    latest = today()
    for draft in drafts:
        check_bill(draft, today=latest)
    book = open_book(drafts)
    series = IMPORTED_SERIES if imported else SERIES
    numbers = next_numbers(series, years=[draft.day.year for draft in drafts])
    entries = post_bills(drafts, numbers=numbers, series=series, book=book, by=by)
    bills = Bill.objects.bulk_create(
        [
            bill_of(draft, number=number, series=series, entry=entry, book=book)
            for draft, number, entry in zip(drafts, numbers, entries, strict=True)
        ],
        batch_size=BATCH,
    )
    BillLine.objects.bulk_create(
        [
            line_of(bill, item=item, share=draft.share, book=book)
            for bill, draft in zip(bills, drafts, strict=True)
            for item in draft.items
        ],
        batch_size=BATCH,
    )
    return Entered(bills, book.said)


def open_book(drafts: Sequence[BillDraft]) -> Book:
    """Find, or make, the kinds, suppliers and accounts that bills refer to.

    Queries: 3, 1 more for each account, and more for what is made.
    """
    book = Book()
    book.kinds, made = kinds_named(kinds_of(drafts))
    book.said += said_of("kind of cost", names=made)
    suppliers = dict.fromkeys(draft.supplier for draft in drafts if draft.supplier)
    if len(suppliers) == 1:
        (name,) = suppliers
        party, is_new = party_named(name)
        book.parties, made = {name: party}, [party.name] if is_new else []
    else:
        book.parties, made = parties_named(suppliers)
    book.said += said_of("supplier", names=made)
    money = [draft for draft in drafts if draft.settled != Settled.IN_KIND]
    for folded in kinds_of([draft for draft in money if draft.share > 0]):
        account = ensure_cost_account(book.kinds[folded].name, direct=False)
        book.running[folded] = account.code
    for folded in kinds_of([draft for draft in money if draft.share < 1]):
        account = ensure_cost_account(book.kinds[folded].name, direct=True)
        book.direct[folded] = account.code
    return book


def kinds_named(names: Mapping[str, str]) -> tuple[dict[str, CostKind], list[str]]:
    """Return kinds of cost by their folded names, made where there are none, and those made.

    Args: ``names`` maps each folded name to the name as it is to be kept.
    Queries: 1, and 2 for each kind that is made.
    """
    found = {kind.folded: kind for kind in CostKind.objects.filter(folded__in=list(names))}
    made = []
    for folded, name in names.items():
        if folded not in found:
            row = CostKind.objects.get_or_create(folded=folded, defaults={"name": name})
            found[folded] = row[0]
            made.append(name)
    return found, made


def said_of(what: str, *, names: Sequence[str]) -> list[str]:
    """Say what was made on the way, by name as far as there are not too many."""
    if not names:
        return []
    shown = ", ".join(names[:NAMED_AT_MOST])
    more = f" and {len(names) - NAMED_AT_MOST} more" if len(names) > NAMED_AT_MOST else ""
    return [f"New {what}: {shown}{more}. Look for one that was only spelt otherwise."]


def post_bills(
    drafts: Sequence[BillDraft], *, numbers: Sequence[int], series: str, book: Book, by: Person
) -> list[Entry]:
    """Post one entry for each bill.

    Queries: as ``post_entries``.
    """
    entries = []
    for draft, number in zip(drafts, numbers, strict=True):
        parts = [part_of(item, share=draft.share, book=book) for item in draft.items]
        entries.append(
            Draft(
                day=draft.day,
                source=SOURCE,
                paper=bill_label(series, year=draft.day.year, number=number),
                memo=", ".join(kinds_of([draft]).values())[:LONGEST_MEMO],
                postings=bill_postings(parts, settled=draft.settled, paid_by=draft.paid_by),
            )
        )
    return post_entries(entries, by=by)


def part_of(item: BillItem, *, share: Decimal, book: Book) -> Part:
    """Return an item split, with the accounts of its two parts."""
    folded = fold_kind(item.kind)
    split = split_amount(item.amount, share=share)
    return Part(split, book.running.get(folded, ""), book.direct.get(folded, ""))


def bill_of(draft: BillDraft, *, number: int, series: str, entry: Entry, book: Book) -> Bill:
    """Build a bill's row."""
    is_paid = draft.settled == Settled.PAID
    return Bill(
        series=series,
        year=draft.day.year,
        number=number,
        day=draft.day,
        month=month_of(draft.day),
        supplier=book.parties.get(draft.supplier),
        serves=draft.serves.value,
        display_share=draft.share,
        amount=draft.amount,
        settled=draft.settled.value,
        paid_by=draft.paid_by if is_paid else "",
        paid_on=draft.day if is_paid else None,
        paid_month=month_of(draft.day) if is_paid else None,
        note=draft.note,
        imported=series == IMPORTED_SERIES,
        by=entry.by,
        at=entry.at,
        entry=entry,
    )


def line_of(bill: Bill, *, item: BillItem, share: Decimal, book: Book) -> BillLine:
    """Build the row of one item of a bill."""
    split = split_amount(item.amount, share=share)
    return BillLine(
        bill=bill,
        kind=book.kinds[fold_kind(item.kind)],
        amount=item.amount,
        display=split.display,
        direct=split.direct,
    )


@one_transaction
def pay_bill(
    bill_id: int, *, by: Person, day: date | None = None, paid_by: str = "transfer"
) -> Bill:
    """Pay what a bill owes, and post it.

    Args: ``day`` of the payment, today when it is left out; ``paid_by`` transfer or cash.
    Raises: NotFound; InputError for a day before the bill's or in the future, or another
        means; Conflict when the bill is not owed (any more).
    Queries: 12.
    """
    bill = get_bill(bill_id)
    latest = today()
    paid_on = day or latest
    if not bill.is_owed:
        raise Conflict(why_not_owed(bill.label, paid_on=bill.paid_on))
    check_payment_day(paid_on, bill_day=bill.day, today=latest)
    entry = post_entry(
        payment_postings(bill.amount, paid_by=paid_by),
        day=paid_on,
        source=PAYMENT_SOURCE,
        paper=bill.label,
        memo="",
        by=by,
    )
    changed = Bill.objects.filter(pk=bill.pk, settled=Settled.OWED.value).update(
        settled=Settled.PAID.value,
        paid_by=paid_by,
        paid_on=paid_on,
        paid_month=month_of(paid_on),
        payment_entry=entry,
    )
    if changed != 1:
        raise Conflict(f"Bill {bill.label} has just been paid by somebody else.")
    return get_bill(bill_id)
