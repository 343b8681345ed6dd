"""``load KIND FILE``: bring in a table, all rows of it or none."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandParser

from fraginv.base.commands import Answer, PlainCommand
from fraginv.base.errors import InputError
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.columns import Column, column_lines
from fraginv.base.rules.loads import Given, LoadResult
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.tables import PartlyRead
from fraginv.front.load_kinds import KINDS
from fraginv.front.loads import all_wrong, bring_in, read

# How days may be written, as it is typed on a command line.
ORDERS = {order.value.replace(" ", "-"): order for order in DayOrder}


class Command(PlainCommand):
    """Bring in a CSV or XLSX table of up to 50,000 rows."""

    help = "Brings in a CSV or XLSX table: all its rows, or none and every reason why."

    def add_options(self, parser: CommandParser) -> None:
        """Declare kind, file, columns, trial, the order of days, and a second time."""
        parser.add_argument("kind", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
        parser.add_argument("file", nargs="?", type=Path, metavar="FILE", help="CSV or XLSX")
        parser.add_argument("--columns", action="store_true", help="print the kind's columns")
        parser.add_argument("--dry-run", action="store_true", help="look, and write nothing")
        parser.add_argument(
            "--days",
            choices=ORDERS,
            default="year-first",
            metavar="ORDER",
            help="how days are written: year-first as in 2026-11-25, day-first, month-first",
        )
        parser.add_argument(
            "--again", action="store_true", help="bring in rows that came in before once more"
        )

    def work(self, options: Mapping[str, Any]) -> Answer:
        """Print the columns, or read the file and write its rows.

        Raises: TableErrors naming every bad row; Conflict for rows that came in before;
            InputError without a file.
        """
        table = KINDS[options["kind"]]
        if options["columns"]:
            return columns_answer(table.columns())
        if options["file"] is None:
            raise InputError(f"Name the file: load {options['kind']} FILE. Or use --columns.")
        try:
            found = read(table, options["file"], days=ORDERS[options["days"]])
        except PartlyRead as error:
            raise all_wrong(table, error, by=self.acting_person()) from error
        result = bring_in(
            found,
            name=options["file"].name,
            by=self.acting_person(),
            knowingly=options["again"],
            dry_run=options["dry_run"],
        )
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
    given = [] if dry_run else result.given
    if given:
        data["codes"] = [
            {"line": one.line, "code": one.code, "old_code": one.old_code} for one in given
        ]
    return Answer(lines=[*map(given_line, given), *result.said, done], data=data)


def given_line(given: Given) -> str:
    """Say which code a row's thing has from now on."""
    old = f", before {given.old_code}" if given.old_code else ""
    return f"line {given.line}: {show_code(given.code)}{old}"
