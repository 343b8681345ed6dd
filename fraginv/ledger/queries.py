"""Reading the ledger: totals, balances, the journal, and what does not agree in it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby

from django.db.models import Case, Count, F, Max, Model, Q, Sum, When
from django.db.models.functions import Coalesce

from fraginv.base.errors import NotFound
from fraginv.base.models import NumberSeries, Tally
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.queries.tallies import tallies_of_month, tally_differences
from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tallies import NOW, Tallies, tallies_under
from fraginv.ledger.models import Account, ChainHead, Entry, Line
from fraginv.ledger.rules import (
    ACCOUNT,
    CHART,
    FIRST_HASH,
    LEAST_POSTINGS,
    NUMBERS,
    Posting,
    chain_hash,
    entry_label,
    entry_text,
    number_gaps,
    side_tallies,
)


@dataclass(frozen=True, slots=True)
class AccountTotal:
    """What moved on an account: both sides, and debit less credit, in minor units."""

    code: str
    name: str
    kind: str
    part: str
    debit: int
    credit: int

    @property
    def total(self) -> int:
        """Return debit less credit."""
        return self.debit - self.credit


@dataclass(frozen=True, slots=True)
class TrialBalance:
    """Every account's balance on its side; the two sums are equal while the ledger is sound."""

    rows: list[AccountTotal]

    @property
    def debit(self) -> int:
        """Return the sum of the balances on the debit side."""
        return sum(row.debit for row in self.rows)

    @property
    def credit(self) -> int:
        """Return the sum of the balances on the credit side."""
        return sum(row.credit for row in self.rows)


def account_totals(month: int) -> list[AccountTotal]:
    """Return what moved in a month on each account that moved, by code.

    Queries: 2, of sums that are kept together with the entries.
    """
    return of_accounts(tallies_under(ACCOUNT, tallies_of_month(month)))


def trial_balance(month: int) -> TrialBalance:
    """Return each account's balance at the end of a month; accounts at zero are left out.

    Queries: 2, of sums that are kept together with the entries.
    """
    kept = Tally.objects.filter(month__range=(NOW + 1, month), name__startswith=f"{ACCOUNT}/")
    sums = dict(kept.order_by("name").values_list("name").annotate(Sum("amount")))
    rows = [
        replace(row, debit=max(row.total, 0), credit=max(-row.total, 0))
        for row in of_accounts(tallies_under(ACCOUNT, sums))
        if row.total
    ]
    return TrialBalance(rows)


def of_accounts(kept: Mapping[tuple[str, ...], int]) -> list[AccountTotal]:
    """Put accounts beside what moved on their two sides.

    Queries: 1.
    """
    moved = {code for code, _ in kept}
    rows = Account.objects.order_by("code").values_list("code", "name", "kind", "part")
    return [
        AccountTotal(*row, kept.get((row[0], "debit"), 0), kept.get((row[0], "credit"), 0))
        for row in rows
        if row[0] in moved
    ]


def ledger_tallies(line: type[Model] = Line) -> Tallies:
    """Return what moved on the two sides of each account in each month, counted from the lines.

    Args: the model, which a migration gives in the form it had then.
    Queries: 1.
    """
    debit = Sum(Case(When(amount__gt=0, then=F("amount")), default=0))
    credit = Sum(Case(When(amount__lt=0, then=-F("amount")), default=0))
    rows = line._default_manager.order_by().values_list("month", "account_id")
    found = Tallies()
    for month, account, debit_side, credit_side in rows.annotate(debit=debit, credit=credit):
        found.update(side_tallies(account, month=month, debit=debit_side, credit=credit_side))
    return found


def get_entry(year: int, *, number: int) -> Entry:
    """Return an entry by its number, with its lines, their accounts, and who posted it.

    Raises: NotFound.
    Queries: 2.
    """
    rows = Entry.objects.filter(year=year, number=number).select_related("by")
    entry: Entry | None = rows.prefetch_related("lines__account").first()
    if entry is None:
        raise NotFound(f"There is no entry {entry_label(year, number)} in the ledger.")
    return entry


def journal(month: int, *, size: int, after: int | None = None) -> Portion[Entry]:
    """Return a page of a month's entries in the order posted, with their lines and accounts.

    Args: ``after`` the id of the last entry on the page before.
    Raises: NotFound for an entry that is not there.
    Queries: 3, and 1 more from the second page on.
    """
    rows = Entry.objects.filter(month=month).prefetch_related("lines__account")
    return portion_of(rows, order=["position"], size=size, after=after)


def ledger_differences() -> Iterator[Difference]:
    """Yield everything in the ledger that does not agree with itself.

    Queries: 10, and the entries and lines once from end to end.
    """
    yield from chart_differences()
    yield from balance_differences()
    yield from month_differences()
    yield from number_differences()
    yield from chain_differences()
    yield from tally_differences(ledger_tallies(), under=(ACCOUNT,))


def chart_differences() -> Iterator[Difference]:
    """Yield accounts of the chart that are missing."""
    known = set(Account.objects.values_list("code", flat=True))
    for row in CHART:
        if row.code not in known:
            yield Difference(f"account {row.code}", f"{row.name} is missing from the chart")


def balance_differences() -> Iterator[Difference]:
    """Yield entries whose lines do not balance or are too few."""
    rows = (
        Entry.objects.annotate(total=Coalesce(Sum("lines__amount"), 0), count=Count("lines"))
        .filter(~Q(total=0) | Q(count__lt=LEAST_POSTINGS))
        .order_by("position")
    )
    for entry in rows.iterator():
        if entry.total:
            yield Difference(f"entry {entry.label}", f"does not balance: off by {entry.total}")
        if entry.count < LEAST_POSTINGS:
            yield Difference(f"entry {entry.label}", f"has only {entry.count} lines")


def month_differences() -> Iterator[Difference]:
    """Yield entries and lines whose month is not that of the entry's day."""
    lines = Line.objects.exclude(month=F("entry__month")).select_related("entry")
    for line in lines.order_by("pk").iterator():
        what = f"a line stands in month {line.month}, the entry in {line.entry.month}"
        yield Difference(f"entry {line.entry.label}", what)
    for day, year, number, month in Entry.objects.values_list("day", "year", "number", "month"):
        if month != month_of(day):
            what = f"stands in month {month}, its day is {day}"
            yield Difference(f"entry {entry_label(year, number)}", what)


def number_differences() -> Iterator[Difference]:
    """Yield numbers that are missing from a year's series, or that its counter does not know."""
    counted = dict(NumberSeries.objects.filter(series=NUMBERS).values_list("year", "last"))
    years = (
        Entry.objects.order_by("year")
        .values_list("year")
        .annotate(count=Count("pk"), last=Max("number"))
    )
    for year, count, last in years:
        given = counted.pop(year, 0)
        if given != last:
            what = f"goes up to {last}, its counter stands at {given}"
            yield Difference(f"series {NUMBERS} of {year}", what)
        if count != last:
            numbers = Entry.objects.filter(year=year).values_list("number", flat=True)
            for missing in number_gaps(numbers):
                yield Difference(f"entry {entry_label(year, missing)}", "is missing from its year")
    for year, given in sorted(counted.items()):
        if given:
            what = f"has no entries, its counter stands at {given}"
            yield Difference(f"series {NUMBERS} of {year}", what)


def chain_differences() -> Iterator[Difference]:
    """Yield entries whose place, previous hash or own hash is wrong, and a wrong head."""
    position, previous = 0, FIRST_HASH
    for entry, postings in entries_with_postings():
        where = f"entry {entry.label}"
        if entry.position != position + 1:
            yield Difference(where, f"stands at {entry.position} of the chain after {position}")
        if entry.previous_hash != previous:
            yield Difference(where, "does not follow the entry before it: the chain is broken")
        text = entry_text(
            year=entry.year,
            number=entry.number,
            day=entry.day,
            source=entry.source,
            paper=entry.paper,
            postings=postings,
        )
        if chain_hash(entry.previous_hash, text) != entry.hash:
            yield Difference(where, "was changed after it was posted: its hash does not match")
        position, previous = entry.position, entry.hash
    head = ChainHead.objects.filter(pk=1).first() or ChainHead()
    if (head.position, head.hash) != (position, previous):
        what = f"says {head.position} entries were posted, the last one found is {position}"
        yield Difference("head of the chain", what)


def entries_with_postings() -> Iterator[tuple[Entry, list[Posting]]]:
    """Read all entries in the order of the chain, each with its postings.

    Queries: 2, read in pieces, so that memory does not grow with the ledger.
    """
    lines = Line.objects.order_by("entry__position", "pk").values_list(
        "entry__position", "account_id", "amount"
    )
    groups = groupby(lines.iterator(), key=lambda row: row[0])
    at, group = next(groups, (None, iter(())))
    for entry in Entry.objects.order_by("position").iterator():
        postings: list[Posting] = []
        if at == entry.position:
            postings = [Posting(account, amount) for _, account, amount in group]
            at, group = next(groups, (None, iter(())))
        yield entry, postings
