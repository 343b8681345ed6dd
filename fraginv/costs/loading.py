"""Bringing in a table of running costs from before the records began."""

from collections.abc import Sequence
from datetime import date
from typing import Final

from django.db import transaction

from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.columns import (
    Column,
    amount_column,
    choice_column,
    column,
    day_column,
    text_column,
)
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, take_back_if
from fraginv.costs.actions import enter_bills, said_of
from fraginv.costs.models import CostKind
from fraginv.costs.rules import (
    LONGEST_KIND,
    LONGEST_NOTE,
    LONGEST_SUPPLIER,
    BillDraft,
    BillItem,
    Serves,
    check_day,
    kinds_of,
    read_kind,
)

LEAST_AMOUNT: Final = 1


def columns(currency: str | None = None) -> list[Column]:
    """Return the columns of the table, amounts in the organisation's currency.

    Queries: 1 where no currency is given.
    """
    return [
        day_column("day"),
        column("kind", read_kind, hint=f"text of at most {LONGEST_KIND} characters"),
        text_column("supplier", longest=LONGEST_SUPPLIER, required=False),
        amount_column("amount", currency=currency or organisation().currency, least=LEAST_AMOUNT),
        choice_column("serves", list(Serves), required=False, empty=Serves.DISPLAY.value),
        text_column("note", longest=LONGEST_NOTE, required=False),
    ]


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 1.
    """
    names = kinds_of(drafts_of(rows, today=today()))
    known = CostKind.objects.filter(folded__in=list(names)).values_list("folded", flat=True)
    new = [names[folded] for folded in names.keys() - set(known)]
    return LoadResult(len(rows), said_of("kind of cost", names=sorted(new)))


def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    Each row is a bill paid on its day by transfer, numbered in the series of imported
    bills. ``dry_run`` does the same and takes it back.
    Raises: TableErrors naming each bad row with its line, column and reason.
    Queries: as ``enter_bills``.
    """
    return bring_in(drafts_of(rows, today=today()), by=by, dry_run=dry_run)


@one_transaction
def bring_in(drafts: Sequence[BillDraft], *, by: Person, dry_run: bool) -> LoadResult:
    """Enter bills that were checked, or do as if.

    Queries: as ``enter_bills``.
    """
    with transaction.atomic():
        entered = enter_bills(drafts, by=by, imported=True)
        take_back_if(dry_run)
    return LoadResult(len(entered.bills), entered.said)


def drafts_of(rows: Sequence[Row], *, today: date) -> list[BillDraft]:
    """Turn rows into bills.

    Raises: TableErrors naming each row whose day cannot be.
    """
    problems = []
    drafts = []
    for row in rows:
        try:
            check_day(row["day"], today=today)
        except InputError as error:
            problems.append(Problem(row.line, "day", error.message))
            continue
        drafts.append(
            BillDraft(
                items=(BillItem(row["kind"], row["amount"]),),
                day=row["day"],
                supplier=row["supplier"],
                serves=Serves(row["serves"]),
                note=row["note"],
            )
        )
    if problems:
        raise TableErrors(problems)
    return drafts
