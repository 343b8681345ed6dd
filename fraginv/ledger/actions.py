"""Posting entries, and opening accounts for kinds of cost."""

from collections.abc import Iterable, Sequence
from datetime import date

from django.db.models import Model

from fraginv.base import clock
from fraginv.base.actions.keeping import next_number, next_numbers
from fraginv.base.actions.tallies import add_to_tallies
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.days import month_of
from fraginv.base.transactions import one_transaction
from fraginv.ledger.models import Account, ChainHead, Entry, Line
from fraginv.ledger.rules import (
    CHART,
    COST_PREFIXES,
    EARLIEST_DAY,
    NUMBERS,
    AccountKind,
    Draft,
    Part,
    Posting,
    chain_hash,
    check_postings,
    entry_text,
    next_cost_code,
    side_tallies,
)

COST_NUMBERS = "EC"
BATCH = 1_000


@one_transaction
def load_chart(account: type[Model] = Account) -> int:
    """Bring the accounts in line with the chart; running it again changes nothing.

    Args: the model, which a migration passes in the form it had then.
    Returns: how many accounts the chart has.
    """
    for row in CHART:
        account._default_manager.update_or_create(
            code=row.code,
            defaults={"name": row.name, "kind": row.kind.value, "part": row.part.value},
        )
    return len(CHART)


@one_transaction
def post_entry(
    postings: Iterable[Posting], *, day: date, source: str, paper: str, memo: str, by: Person
) -> Entry:
    """Post one balanced entry for a paper; inside an action it joins that transaction.

    Args: ``postings`` in minor units, debit above zero; ``source`` the kind of paper
        ("sale", "bill"), ``paper`` its number as printed; ``memo`` without people's names.
    Raises: InputError when it does not balance, an account is unknown or the day is
        in the future.
    Lock: number series, then the chain's head, until the transaction ends.
    Queries: 7, and 1 for the sums when the transaction ends.
    """
    draft = Draft(day, source, paper, memo, tuple(postings))
    return post_entries([draft], by=by)[0]


@one_transaction
def post_entries(drafts: Sequence[Draft], *, by: Person) -> list[Entry]:
    """Post many entries in the order given; all of them or none.

    Raises: as ``post_entry``.
    Lock: number series of each year, oldest first, then the chain's head.
    Queries: 3, 2 for each year, and 2 for each thousand rows.
    """
    if not drafts:
        return []
    refuse_bad(drafts)
    numbers = next_numbers(NUMBERS, years=[draft.day.year for draft in drafts])
    head = ChainHead.objects.select_for_update().get_or_create(pk=1)[0]
    previous = head.hash
    entries = chained(drafts, numbers=numbers, head=head, by=by)
    Entry.objects.bulk_create(entries, batch_size=BATCH)
    lines = [
        Line(entry=entry, account_id=posting.account, amount=posting.amount, month=entry.month)
        for entry, draft in zip(entries, drafts, strict=True)
        for posting in draft.postings
    ]
    Line.objects.bulk_create(lines, batch_size=BATCH)
    for line in lines:
        debit, credit = max(line.amount, 0), max(-line.amount, 0)
        add_to_tallies(side_tallies(line.account_id, month=line.month, debit=debit, credit=credit))
    moved = ChainHead.objects.filter(pk=1, hash=previous).update(
        position=head.position + len(entries), hash=entries[-1].hash
    )
    if moved != 1:
        raise Conflict("Another entry was posted at the same moment. Try again.")
    return entries


def refuse_bad(drafts: Sequence[Draft]) -> None:
    """Refuse drafts that do not balance, name no paper or account, or lie in the future.

    Raises: InputError for the first that is found.
    Queries: 1, and 1 for today's day outside a request.
    """
    latest = today()
    for draft in drafts:
        check_postings(draft.postings)
        if not (draft.source and draft.paper):
            raise InputError("An entry needs the paper that it stands for.")
        if draft.day > latest:
            raise InputError(f"The day {draft.day} is in the future. Nothing was posted.")
        if draft.day < EARLIEST_DAY:
            raise InputError(f"The day {draft.day} is before {EARLIEST_DAY}. Look at the year.")
    wanted = {posting.account for draft in drafts for posting in draft.postings}
    unknown = wanted - set(Account.objects.values_list("code", flat=True))
    if unknown:
        raise InputError(f"There is no account {', '.join(sorted(unknown))} in the ledger.")


def chained(
    drafts: Sequence[Draft], *, numbers: Sequence[int], head: ChainHead, by: Person
) -> list[Entry]:
    """Build the entries that follow the head of the chain, each with its hashes."""
    now, previous, entries = clock.now(), head.hash, []
    for offset, (draft, number) in enumerate(zip(drafts, numbers, strict=True), start=1):
        text = entry_text(
            year=draft.day.year,
            number=number,
            day=draft.day,
            source=draft.source,
            paper=draft.paper,
            postings=draft.postings,
        )
        mark = chain_hash(previous, text)
        entries.append(
            Entry(
                position=head.position + offset,
                year=draft.day.year,
                number=number,
                day=draft.day,
                month=month_of(draft.day),
                source=draft.source,
                paper=draft.paper,
                memo=draft.memo,
                by=by,
                at=now,
                previous_hash=previous,
                hash=mark,
            )
        )
        previous = mark
    return entries


@one_transaction
def ensure_cost_account(kind_name: str, *, direct: bool) -> Account:
    """Return the account of a kind of cost, opened if there is none.

    Args: ``direct`` for what only frags need, else the display's running costs.
    Raises: InputError for an empty name or when the codes are used up.
    Lock: a number series while one is opened, so that two people open it once.
    Queries: 1, and 6 when it is opened.
    """
    name = kind_name.strip()
    if not name:
        raise InputError("A kind of cost needs a name.")
    part = Part.DIRECT if direct else Part.RUNNING
    rows = Account.objects.filter(part=part, name=name)
    found = rows.first()
    if found is not None:
        return found
    next_number(COST_NUMBERS, year=0)
    found = rows.first()
    if found is not None:
        return found
    taken = Account.objects.filter(code__startswith=COST_PREFIXES[part])
    code = next_cost_code(taken.values_list("code", flat=True), part=part)
    return Account.objects.create(code=code, name=name, kind=AccountKind.COST, part=part)
