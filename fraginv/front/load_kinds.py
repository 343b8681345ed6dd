"""The kinds of tables that can be brought in: the one table, for the command and the pages."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final, Protocol

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.rules.columns import Column
from fraginv.base.rules.csv_text import Cell
from fraginv.base.rules.loads import LoadResult
from fraginv.base.tables import Row
from fraginv.costs import loading as costs
from fraginv.stock.loading import colonies, frags, varieties, water
from fraginv.trade.loading import customers, prices, sales


class Check(Protocol):
    """Looks at the rows of a table and writes nothing."""

    def __call__(self, rows: Sequence[Row], *, by: Person) -> LoadResult:
        """Say what the rows would bring in, or raise TableErrors."""


class Loads(Protocol):
    """Writes the rows of a table in one transaction."""

    def __call__(self, rows: Sequence[Row], *, by: Person, dry_run: bool = ...) -> LoadResult:
        """Write all rows or none."""


@dataclass(frozen=True)
class Table:
    """One kind of table.

    Attributes: ``about`` says what a row is and what comes first; ``example`` is the row
    of the template, in invented words, by column.
    """

    kind: str
    about: str
    columns: Callable[[], list[Column]]
    check: Check
    load: Loads
    example: Mapping[str, Cell]


TABLES: Final = (
    Table(
        "varieties",
        "What customers ask for, one a row. They come first: all others name them.",
        varieties.columns,
        varieties.check,
        varieties.load,
        {"name": "Quay Lantern", "genus": "Acropora", "note": "An example row"},
    ),
    Table(
        "colonies",
        "Mother colonies, where they came from and on what papers. Each gets a code.",
        colonies.columns,
        colonies.check,
        colonies.load,
        {
            "variety": "Quay Lantern",
            "origin": "bought",
            "acquired_on": date(2025, 4, 12),
            "supplier": "Tidepool Traders",
            "invoice": "TT-0417",
            "source_code": "F",
            "rest_days": 30,
            "rack": "Display / Trough A / Rack 1",
            "old_code": "QL-1",
            "note": "An example row",
        },
    ),
    Table(
        "frags",
        "Frags and lots that are in the troughs already, one a row. Colonies come before them.",
        frags.columns,
        frags.check,
        frags.load,
        {
            "variety": "Quay Lantern",
            "colony": "QL-1",
            "pieces": 1,
            "cut_on": date(2026, 2, 20),
            "stage": "ready",
            "size": "M",
            "rack": "Display / Trough A / Rack 1",
            "row": 1,
            "column": 4,
            "medium": "plug",
            "old_code": "QL-1-07",
            "note": "An example row",
        },
    ),
    Table(
        "customers",
        "Shops, and visitors who want to be known, with their resale certificates.",
        customers.columns,
        customers.check,
        customers.load,
        {
            "name": "Driftwood Aquaria",
            "kind": "shop",
            "contact": "Ada Holm",
            "email": "ada@driftwood.example",
            "phone": "555-0142",
            "address": "12 Ferry Lane, Leam",
            "note": "An example row",
        },
    ),
    Table(
        "prices",
        "What a kind of customer pays for a variety or a group, from a day on, without tax.",
        prices.columns,
        prices.check,
        prices.load,
        {
            "kind": "retail",
            "variety": "Quay Lantern",
            "size": "M",
            "unit": "piece",
            "amount": Decimal("12.50"),
            "first_day": date(2026, 1, 1),
        },
    ),
    Table(
        "sales",
        "Sales from before the records began, a line a row.",
        sales.columns,
        sales.check,
        sales.load,
        {
            "day": date(2026, 1, 3),
            "customer": "Driftwood Aquaria",
            "kind": "shop",
            "channel": "order",
            "variety": "Quay Lantern",
            "quantity": 4,
            "unit_price": Decimal("12.50"),
            "discount": Decimal("5.00"),
            "paid": Decimal("45.00"),
            "means": "transfer",
        },
    ),
    Table(
        "water",
        "The water log: of a probe or a spreadsheet, one kind a row or one kind a column.",
        water.columns,
        water.check,
        water.load,
        {
            "day": date(2026, 1, 3),
            "time": "14:30",
            "system": "Display",
            "temperature": Decimal("25.1"),
            "alkalinity": Decimal("8.2"),
        },
    ),
    Table(
        "costs",
        "Running costs from before the records began, a bill a row.",
        costs.columns,
        costs.check,
        costs.load,
        {
            "day": date(2026, 1, 5),
            "kind": "Electricity",
            "supplier": "Northmark Light Company",
            "amount": Decimal("420.00"),
            "serves": "display",
            "note": "An example row",
        },
    ),
)
KINDS: Final[Mapping[str, Table]] = {table.kind: table for table in TABLES}


def table_of(kind: str) -> Table:
    """Return one kind of table.

    Raises: NotFound.
    """
    if kind not in KINDS:
        raise NotFound(f"There is no table of that kind. There are: {', '.join(KINDS)}.")
    return KINDS[kind]
