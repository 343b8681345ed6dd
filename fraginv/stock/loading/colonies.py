"""Bringing in a table of mother colonies."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.columns import (
    Column,
    amount_column,
    choice_column,
    day_column,
    fraction_column,
    text_column,
    whole_column,
)
from fraginv.base.rules.loads import LoadResult, named_first
from fraginv.base.rules.problems import TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.stock.actions.loaded import ColonyDraft, bar_words, write_colonies
from fraginv.stock.loading.marks import LONGEST_RACK, Reading, mark_columns
from fraginv.stock.rules.colonies import ORIGINS, SOURCE_CODES
from fraginv.stock.rules.cutting import MOST_PIECES

LONGEST_PARTY, LONGEST_PAPER, LONGEST_REASON, LONGEST_NOTE = 120, 80, 200, 1000
MOST_REST_DAYS: Final = 730
REST_DAYS: Final = 30
WHOLE_SHARE: Final = Decimal(10_000)
COPIED: Final = (
    *("origin", "acquired_on", "invoice", "permit", "no_paper_because", "owner_least"),
    *("most_pieces", "last_cut_on", "note"),
)


def columns(currency: str | None = None) -> list[Column]:
    """Return the columns of the table, the owner's least price in the organisation's currency.

    Queries: 1 where no currency is given.
    """
    money = currency or organisation().currency
    return [
        text_column("variety", longest=80),
        choice_column("origin", list(ORIGINS)),
        day_column("acquired_on"),
        text_column("supplier", longest=LONGEST_PARTY, required=False),
        text_column("invoice", longest=LONGEST_PAPER, required=False),
        text_column("permit", longest=LONGEST_PAPER, required=False),
        choice_column("source_code", list(SOURCE_CODES), required=False, empty=""),
        text_column("no_paper_because", longest=LONGEST_REASON, required=False),
        text_column("owner", longest=LONGEST_PARTY, required=False),
        fraction_column("owner_share", places=4, required=False),
        amount_column("owner_least", currency=money, required=False),
        whole_column("rest_days", least=0, most=MOST_REST_DAYS, required=False),
        whole_column("most_pieces", least=1, most=MOST_PIECES, required=False),
        day_column("last_cut_on", required=False),
        text_column("rack", longest=LONGEST_RACK, required=False),
        *mark_columns(),
        text_column("note", longest=LONGEST_NOTE, required=False, line_breaks=True),
    ]


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 3, and 3 for each 500 labels and old codes.
    """
    return LoadResult(len(rows), said_of(drafts_of(rows)))


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    Each colony gets a code, that of a blank label where the row names one. A supplier or
    owner that is unknown is made. ``dry_run`` does the same and takes it back.
    Raises: TableErrors naming each row with a variety, rack or label that there is not,
        an old code that something living has, or what cannot be; Conflict where a rack was
        changed meanwhile.
    Queries: 4, 3 for each 500 labels and old codes, and 5 for each 500 rows, on SQLite more.
    """
    drafts = drafts_of(rows)
    with trial(dry_run):
        given, made = write_colonies(drafts, by=by)
    new = [f"New suppliers and owners: {named_first(made)}."] if made else []
    return LoadResult(len(rows), new + said_of(drafts), given)


def said_of(drafts: Sequence[ColonyDraft]) -> list[str]:
    """Say which colonies are barred from the first."""
    bound = [str(draft.line) for draft in drafts if bar_words(draft.columns)]
    if not bound:
        return []
    lines = "line" if len(bound) == 1 else "lines"
    return [
        f"On loan or seized, {lines} {named_first(bound)}: barred from cutting, sale and giving "
        "until the owner role lifts the bar."
    ]


def drafts_of(rows: Sequence[Row]) -> list[ColonyDraft]:
    """Turn rows into colonies.

    Raises: TableErrors.
    """
    reading = ColonyReading(rows)
    drafts = [reading.draft_of(row) for row in rows]
    if reading.problems:
        raise TableErrors(reading.problems)
    return [draft for draft in drafts if draft is not None]


class ColonyReading(Reading):
    """Turns rows into colonies and collects what is wrong with them."""

    def draft_of(self, row: Row) -> ColonyDraft | None:
        """Return a row's colony, or None and note what is wrong."""
        variety, rack = self.variety_of(row), self.rack_of(row)
        self.check_day(row, "acquired_on")
        if row["last_cut_on"] is not None:
            self.check_day(row, "last_cut_on", earliest=row["acquired_on"])
        self.check_owner(row)
        label, old_code = self.label_of(row), self.old_code_of(row)
        if variety is None:
            return None
        return ColonyDraft(
            line=row.line,
            label=label,
            old_code=old_code,
            variety=variety,
            rack=rack,
            supplier=row["supplier"],
            owner=row["owner"],
            columns=columns_of(row),
        )

    def check_owner(self, row: Row) -> None:
        """Note terms of an owner where there is none."""
        for column in ("owner_share", "owner_least"):
            if row[column] is not None and not row["owner"]:
                self.problem(row, column, "it is an owner's; write whose, or leave it empty.")


def columns_of(row: Row) -> dict[str, Any]:
    """Return the columns of a colony that stand in a row as they are kept."""
    share = row["owner_share"]
    return {name: row[name] for name in COPIED} | {
        "source_code": row["source_code"],
        "rest_days": REST_DAYS if row["rest_days"] is None else row["rest_days"],
        "owner_share": None if share is None else int(share * WHOLE_SHARE),
    }
