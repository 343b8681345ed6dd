"""``load KIND FILE``: bring in a table, all rows of it or none."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.rules.columns import Column, column_lines
from fraginv.base.rules.loads import LoadResult
from fraginv.base.tables import Row, read_table
from fraginv.costs import loading as costs
from fraginv.stock.loading import varieties
from fraginv.trade.loading import sales


class Loads(Protocol):
    """Writes the rows of a table in one transaction."""

    def __call__(self, rows: Sequence[Row], *, by: Person, dry_run: bool = ...) -> LoadResult:
        """Write all rows or none."""


@dataclass(frozen=True)
class Kind:
    """One kind of table: its columns, and what writes it."""

    columns: Callable[[], list[Column]]
    load: Loads


KINDS: Mapping[str, Kind] = {
    "varieties": Kind(varieties.columns, varieties.load),
    "sales": Kind(sales.columns, sales.load),
    "costs": Kind(costs.columns, costs.load),
}


class Command(PlainCommand):
    """Bring in a CSV or XLSX table of up to 50,000 rows."""

    help = "Brings in a CSV or XLSX table: all its rows, or none and every reason why."

    def add_options(self, parser: CommandParser) -> None:
        """Declare kind, file, columns and trial."""
        parser.add_argument("kind", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
        parser.add_argument("file", nargs="?", type=Path, metavar="FILE", help="CSV or XLSX")
        parser.add_argument("--columns", action="store_true", help="print the kind's columns")
        parser.add_argument("--dry-run", action="store_true", help="look, and write nothing")

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Print the columns, or read the file and write its rows.

        Raises: TableErrors naming every bad row; InputError without a file.
        """
        kind = KINDS[options["kind"]]
        if options["columns"]:
            return columns_answer(kind.columns())
        if options["file"] is None:
            raise InputError(f"Name the file: load {options['kind']} FILE. Or use --columns.")
        rows = read_table(options["file"], columns=kind.columns())
        result = kind.load(rows, by=self.acting_person(), dry_run=options["dry_run"])
        return result_answer(result, kind=options["kind"], dry_run=options["dry_run"])


def columns_answer(columns: Sequence[Column]) -> Answer:
    """Say what a table's columns hold and which may be left out."""
    data = [
        {"name": column.name, "required": column.required, "takes": column.hint}
        for column in columns
    ]
    return Answer(lines=column_lines(columns), data={"columns": data})


def result_answer(result: LoadResult, *, kind: str, dry_run: bool) -> Answer:
    """Say how many rows were, or would be, brought in, and what was made on the way."""
    many = f"{result.rows:,} {'row' if result.rows == 1 else 'rows'} of {kind}"
    done = f"{many} could be brought in; nothing was written." if dry_run else f"{many} brought in."
    data = {"kind": kind, "rows": result.rows, "said": result.said, "dry_run": dry_run}
    return Answer(lines=[*result.said, done], data=data)
