"""Bringing in a table of prices."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Final

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
from fraginv.base.rules.days import EARLIEST_DAY
from fraginv.base.rules.known import Known, fold
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.money import decimal_text
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, trial
from fraginv.stock.models import Variety
from fraginv.stock.queries.named import known_varieties
from fraginv.stock.rules.stages import SIZES
from fraginv.stock.rules.typed import read_size
from fraginv.trade.actions.pricing import PriceDraft, write_prices
from fraginv.trade.models import CustomerKind, Price
from fraginv.trade.rules.prices import Target
from fraginv.trade.rules.words import SALE_GROUPS, Unit

LATEST_YEARS: Final = 5

Key = tuple[int, Target, date]


def columns(currency: str | None = None) -> list[Column]:
    """Return the columns of the table, amounts in the organisation's currency.

    Queries: 1 where no currency is given.
    """
    sizes = f"one of: {', '.join(SIZES)}; empty for any"
    return [
        text_column("kind", longest=30),
        text_column("variety", longest=80, required=False),
        choice_column("group", SALE_GROUPS, required=False, empty=""),
        column("size", read_size, hint=sizes, required=False, empty=""),
        choice_column("unit", list(Unit), required=False, empty=Unit.PIECE.value),
        amount_column("amount", currency=currency or organisation().currency),
        day_column("first_day", required=False),
    ]


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Raises: TableErrors as ``load``.
    Queries: 4.
    """
    drafts = drafts_of(rows)
    return LoadResult(len(rows), said_of(len(rows) - len(drafts)))


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    A row is a price for a variety or a group; without a first day it holds from today on.
    A price that is set already from that day on is not written again. ``dry_run`` does the
    same and takes it back.
    Raises: TableErrors naming each row that has not one target, names what there is not,
        or stands against another row.
    Queries: 4, and 1 for each thousand rows, on SQLite more.
    """
    drafts = drafts_of(rows)
    with trial(dry_run):
        write_prices(drafts, by=by)
    return LoadResult(len(rows), said_of(len(rows) - len(drafts)))


def said_of(same: int) -> list[str]:
    """Say how many prices stand already as a table has them."""
    if not same:
        return []
    return [f"Set already as the table has them, and not written again: {same}."]


def drafts_of(rows: Sequence[Row]) -> list[PriceDraft]:
    """Turn rows into prices, without those that are set already.

    Raises: TableErrors.
    Queries: 4.
    """
    reading = Reading(
        kinds={fold(kind.name): kind for kind in CustomerKind.objects.all()},
        varieties=known_varieties(),
        today=today(),
        currency=organisation().currency,
    )
    drafts = [draft for row in rows if (draft := reading.draft_of(row))]
    if reading.problems:
        raise TableErrors(reading.problems)
    there = prices_set()
    return [draft for draft in drafts if there.get(key_of(draft)) != (draft.amount, draft.unit)]


def prices_set() -> dict[Key, tuple[int, str]]:
    """Return the amount and the unit of what is set for each kind and target from a day on.

    Queries: 1.
    """
    rows = Price.objects.filter(frag__isnull=True).order_by("pk")
    fields = ("kind", "variety", "group", "size", "first_day", "amount", "unit")
    return {
        (kind, Target(None, variety, group, size), day): (amount, unit)
        for kind, variety, group, size, day, amount, unit in rows.values_list(*fields)
    }


def key_of(draft: PriceDraft) -> Key:
    """Return what a price is set for: whom, what, and from when on."""
    variety = draft.variety.pk if draft.variety else None
    return draft.kind.pk, Target(None, variety, draft.group, draft.size), draft.first_day


@dataclass
class Reading:
    """What is known while rows are turned into prices, and what is wrong with them."""

    kinds: dict[str, CustomerKind]
    varieties: Known[Variety]
    today: date
    currency: str
    lines: dict[Key, int] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def draft_of(self, row: Row) -> PriceDraft | None:
        """Return a row's price, or None and note what is wrong."""
        before = len(self.problems)
        kind, variety = self.kind_of(row), self.variety_of(row)
        day = self.day_of(row)
        if kind is None or len(self.problems) > before:
            return None
        draft = PriceDraft(
            kind=kind,
            variety=variety,
            group=row["group"],
            size=row["size"],
            unit=row["unit"],
            amount=row["amount"],
            first_day=day,
        )
        first = self.lines.setdefault(key_of(draft), row.line)
        if first != row.line:
            shown = decimal_text(draft.amount, currency=self.currency)
            reason = f"{shown} stands against line {first}: same kind, target, size and day."
            self.problems.append(Problem(row.line, "amount", f"{reason} Take one of them out."))
        return draft

    def kind_of(self, row: Row) -> CustomerKind | None:
        """Return the kind of customer that a price is for."""
        found = self.kinds.get(fold(row["kind"]))
        if found is None:
            kinds = ", ".join(kind.name for kind in self.kinds.values())
            reason = f"{row['kind']} is no kind of customer; write one of: {kinds}."
            self.problems.append(Problem(row.line, "kind", reason))
        return found

    def variety_of(self, row: Row) -> Variety | None:
        """Return the variety that a price is for; a price for a group has none."""
        name = row["variety"]
        if bool(name) == bool(row["group"]):
            reason = "write a variety or a group, and not both."
            self.problems.append(Problem(row.line, "variety", reason))
            return None
        if not name:
            return None
        found = self.varieties.get(name)
        if found is None:
            self.problems.append(Problem(row.line, "variety", self.varieties.why_unknown(name)))
        return found

    def day_of(self, row: Row) -> date:
        """Return the day from which a price holds."""
        day: date = row["first_day"] or self.today
        if (
            not EARLIEST_DAY
            <= day
            <= self.today.replace(year=self.today.year + LATEST_YEARS, day=1)
        ):
            reason = f"{day} is no day for a price: look at the year."
            self.problems.append(Problem(row.line, "first_day", reason))
        return day
