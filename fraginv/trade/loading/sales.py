"""Bringing in a table of sales from before the records began."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db import transaction

from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.base.rules.columns import (
    Column,
    amount_column,
    choice_column,
    day_column,
    fraction_column,
    text_column,
    whole_column,
)
from fraginv.base.rules.known import Known
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.money import LARGEST, decimal_text
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.tables import Row
from fraginv.base.transactions import one_transaction, take_back_if
from fraginv.ledger.rules import EARLIEST_DAY
from fraginv.stock.models import Frag, Variety
from fraginv.stock.queries.named import frags_named, known_varieties
from fraginv.trade.actions.loaded import write_loaded
from fraginv.trade.models import Customer, CustomerKind
from fraginv.trade.rules.loaded import (
    LoadedLine,
    LoadedSale,
    overpaid,
    said_of,
    sales_of,
    tax_of_row,
)
from fraginv.trade.rules.words import Channel, Means

MOST_PIECES: Final = 10_000
LONGEST_NAME: Final = 120


def columns(currency: str | None = None) -> list[Column]:
    """Return the columns of the table, amounts in the organisation's currency.

    Queries: 1 where no currency is given.
    """
    money = currency or organisation().currency
    return [
        day_column("day"),
        text_column("customer", longest=LONGEST_NAME, filled=False),
        text_column("kind", longest=30, filled=False),
        choice_column("channel", [channel.value for channel in Channel]),
        text_column("variety", longest=80),
        text_column("code", longest=200, required=False),
        whole_column("quantity", least=1, most=MOST_PIECES),
        amount_column("unit_price", currency=money),
        amount_column("discount", currency=money, required=False),
        fraction_column("tax_rate", required=False),
        amount_column("tax", currency=money, required=False),
        amount_column("paid", currency=money, required=False),
        choice_column("means", [means.value for means in Means], required=False, empty=""),
    ]


@one_transaction
def load(rows: Sequence[Row], *, by: Person, dry_run: bool = False) -> LoadResult:
    """Bring in the rows that ``read_table`` read by ``columns``: all of them or none.

    Lines of one day, customer and channel that follow each other make one
    sale, numbered in the series of imported sales. An unknown customer is
    made. A row with a code sells that frag's pieces, any other sells unnamed
    pieces of its variety. ``dry_run`` does the same and takes it back.

    Raises: TableErrors naming each bad row with its line, column and reason.
    Queries: about 30, 4 for each year, 10 for each code, and those that write
        rows in batches (on SQLite of some 40 rows, on PostgreSQL of a thousand).
    """
    sales = sales_in(rows)
    with transaction.atomic():
        said = write_loaded(sales, by=by)
        take_back_if(dry_run)
    return LoadResult(len(rows), [*said, *said_of([line for sale in sales for line in sale.lines])])


def sales_in(rows: Sequence[Row]) -> list[LoadedSale]:
    """Return the sales that rows make.

    Raises: TableErrors naming each bad row.
    Queries: 5, and 1 for each 500 codes.
    """
    reading = Reading(known=there_for(rows), today=today(), currency=organisation().currency)
    lines = [reading.line_of(row) for row in rows]
    if reading.problems:
        raise TableErrors(reading.problems)
    sales = sales_of([line for line in lines if line is not None])
    problems = overpaid(sales, currency=reading.currency)
    if problems:
        raise TableErrors(problems)
    return sales


def check(rows: Sequence[Row], *, by: Person) -> LoadResult:
    """Look at rows as ``load`` does, and write nothing.

    Whether the pieces of a code can be sold is known once they are taken, so a table with
    codes is brought in and taken back.
    Raises: TableErrors as ``load``.
    Queries: as ``sales_in``, or with codes as ``load``.
    """
    if any(row["code"] for row in rows):
        return load(rows, by=by, dry_run=True)
    sales = sales_in(rows)
    said = [f"Sales that the rows make: {len(sales)}."]
    return LoadResult(len(rows), said + said_of([line for sale in sales for line in sale.lines]))


@dataclass(frozen=True)
class There:
    """What rows may name: varieties, kinds, customers' kinds by name, frags by code."""

    varieties: Known[Variety]
    kinds: Mapping[str, str]
    customers: Mapping[str, str]
    frags: Mapping[str, Frag]


def there_for(rows: Sequence[Row]) -> There:
    """Return what the rows may name.

    Queries: 3, 1 for each 500 codes, and 1 for each 500 that frags had before.
    """
    codes = {code for row in rows if (code := code_in(row))}
    customers = Customer.objects.values_list("party__name", "kind__name").order_by("-pk")
    return There(
        varieties=known_varieties(),
        kinds={
            name.casefold(): name for name in CustomerKind.objects.values_list("name", flat=True)
        },
        customers={name.casefold(): kind for name, kind in customers},
        frags=frags_named(codes),
    )


def code_in(row: Row) -> str:
    """Return the code in a row, or nothing where there is none that can be read."""
    try:
        return read_code(row["code"]) if row["code"] else ""
    except CodeError:
        return ""


class Reading:
    """Turns rows into lines of sales and collects what is wrong with them."""

    def __init__(self, *, known: There, today: date, currency: str) -> None:
        self.known = known
        self.today = today
        self.currency = currency
        self.problems: list[Problem] = []
        self.new_kinds: dict[str, str] = {}

    def line_of(self, row: Row) -> LoadedLine | None:
        """Return a row's line, or None where something is wrong with it."""
        before = len(self.problems)
        self.check_day(row)
        kind = self.kind_of(row)
        variety = self.variety_of(row)
        frag = self.frag_of(row, variety)
        self.check_amounts(row)
        if variety is None or len(self.problems) > before:
            return None
        text = f"{variety.name}, size {frag.size}" if frag and frag.size else variety.name
        rate, stated = row["tax_rate"], row["tax"]
        net = row["quantity"] * row["unit_price"] - (row["discount"] or 0)
        return LoadedLine(
            line=row.line,
            day=row["day"],
            customer=row["customer"],
            kind=kind,
            channel=row["channel"],
            variety=variety.pk,
            group=variety.group,
            text=f"{text} ({show_code(frag.code_id)})" if frag else text,
            size=frag.size if frag else "",
            frag=frag.pk if frag else None,
            quantity=row["quantity"],
            unit_price=row["unit_price"],
            discount=row["discount"] or 0,
            tax_rate=None if stated is not None else rate,
            tax=tax_of_row(net, rate=rate, stated=stated),
            paid=row["paid"] or 0,
            means=row["means"],
        )

    def problem(self, row: Row, column: str, reason: str) -> None:
        """Note what is wrong in a column of a row."""
        self.problems.append(Problem(row.line, column, reason))

    def check_day(self, row: Row) -> None:
        """Note a day in the future or before any records."""
        day: Any = row["day"]
        if day > self.today:
            self.problem(row, "day", f"{day} is in the future; today is {self.today}.")
        elif day < EARLIEST_DAY:
            self.problem(row, "day", f"{day} is before {EARLIEST_DAY}; look at the year.")

    def kind_of(self, row: Row) -> str:
        """Return the kind of customer at whose prices a row was sold."""
        typed, name = row["kind"].casefold(), row["customer"].casefold()
        if typed in self.known.kinds:
            kind = self.known.kinds[typed]
            if name:
                self.new_kinds.setdefault(name, kind)
            return kind
        kinds = ", ".join(self.known.kinds.values())
        if typed:
            self.problem(
                row, "kind", f"{row['kind']} is no kind of customer; write one of: {kinds}."
            )
            return ""
        if not name:
            return ""
        known = self.known.customers.get(name) or self.new_kinds.get(name, "")
        if not known:
            reason = f"{row['customer']} is a new customer; write which kind: {kinds}."
            self.problem(row, "kind", reason)
        return known

    def variety_of(self, row: Row) -> Variety | None:
        """Return the variety that a row names."""
        found = self.known.varieties.get(row["variety"])
        if found is None:
            self.problem(row, "variety", self.known.varieties.why_unknown(row["variety"]))
        return found

    def frag_of(self, row: Row, variety: Variety | None) -> Frag | None:
        """Return the frag whose code a row gives."""
        if not row["code"]:
            return None
        try:
            code = read_code(row["code"])
        except CodeError as error:
            self.problem(row, "code", error.message)
            return None
        frag = self.known.frags.get(code)
        if frag is None:
            self.problem(row, "code", f"{show_code(code)} is not the code of a frag here.")
        elif variety is not None and frag.variety_id != variety.pk:
            reason = f"{show_code(code)} is {frag.variety.name}, not {variety.name}."
            self.problem(row, "code", reason)
        return frag

    def check_amounts(self, row: Row) -> None:
        """Note a discount larger than the line, or a line larger than can be kept."""
        gross = row["quantity"] * row["unit_price"]
        shown = decimal_text(gross, currency=self.currency)
        if gross > LARGEST:
            self.problem(row, "unit_price", f"The line comes to {shown}, more than can be kept.")
        elif (row["discount"] or 0) > gross:
            taken = decimal_text(row["discount"], currency=self.currency)
            self.problem(row, "discount", f"{taken} is more than the line comes to, {shown}.")
        elif (row["tax"] or 0) > gross:
            taken = decimal_text(row["tax"], currency=self.currency)
            self.problem(row, "tax", f"{taken} is more than the line comes to, {shown}.")
