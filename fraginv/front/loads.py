"""Reading, looking at and bringing in a table of any kind."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from fraginv.base.actions.uploads import (
    record_load,
    refuse_again,
    refuse_taken,
    take_turn,
    throw_away,
)
from fraginv.base.models import Person, TableLoad, Upload
from fraginv.base.rules.columns import Column
from fraginv.base.rules.csv_text import Cell
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem, TableErrors
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.rules.uploads import Looked, head_of, mark_of
from fraginv.base.tables import PartlyRead, Row, read_table, write_csv, write_xlsx
from fraginv.base.transactions import one_transaction
from fraginv.front.load_kinds import Table

ONLY_EXAMPLE = (
    "only the example row of the template stands here. Write your own rows under the headings."
)


@dataclass(frozen=True)
class TableRead:
    """The rows of a table, what tells them from others, and what to say of them."""

    table: Table
    columns: Sequence[Column]
    rows: Sequence[Row]
    said: Sequence[str]

    @cached_property
    def mark(self) -> str:
        """Return what tells these rows from those of any other table."""
        lines = ((row.line, row.values) for row in self.rows)
        return mark_of(self.table.kind, lines, columns=self.columns)

    @property
    def head(self) -> dict[str, list[Any]]:
        """Return the first rows as they were understood."""
        return head_of([(row.line, row.values) for row in self.rows], columns=self.columns)


def template(table: Table, *, ending: str) -> bytes:
    """Return a table with all headings and the example row, as a CSV file or a workbook.

    Queries: as the table's columns.
    """
    names = [column.name for column in table.columns()]
    rows = [example_of(table, names)]
    if ending == "xlsx":
        return write_xlsx(names, rows, title=table.kind)
    return write_csv(names, rows)


def example_of(table: Table, names: Sequence[str]) -> list[Cell]:
    """Return the cells of the example row, in the order of the columns."""
    return [table.example.get(name) for name in names]


def read(table: Table, source: bytes | Path, *, days: DayOrder) -> TableRead:
    """Read a table; the example row of its template is left out, and said.

    Raises: TableErrors, PartlyRead among them; InputError for a file that cannot be read.
    Queries: as the table's columns.
    """
    columns = table.columns()
    names = [column.name for column in columns]
    (example,) = read_table(write_csv(names, [example_of(table, names)]), columns=columns)
    try:
        rows = read_table(source, columns=columns, days=days)
    except PartlyRead as error:
        rows = [row for row in error.rows if row.values != example.values]
        raise PartlyRead(error.problems, rows) from error
    kept = [row for row in rows if row.values != example.values]
    if not kept:
        raise TableErrors([Problem(rows[0].line, "", ONLY_EXAMPLE)])
    left_out = [row.line for row in rows if row.values == example.values]
    said = [f"Line {line} is the example row of the template and is left out." for line in left_out]
    return TableRead(table, columns, kept, said)


def all_wrong(table: Table, error: PartlyRead, *, by: Person) -> TableErrors:
    """Return all that is wrong with a table, also with what could be read of it.

    Where a cell cannot be read, nothing else is said of it.
    Queries: those of the table's own ``check``.
    """
    unread = {(problem.line, problem.column) for problem in error.problems}
    try:
        if error.rows:
            table.check(error.rows, by=by)
    except TableErrors as found:
        more = [one for one in found.problems if (one.line, one.column) not in unread]
        return TableErrors([*error.problems, *more])
    return error


def look(table: Table, data: bytes, *, days: DayOrder, by: Person) -> Looked:
    """Look at a table that somebody sent: what it would bring in, or all that is wrong with it.

    Nothing is written, and nobody waits for it.
    """
    try:
        found = read(table, data, days=days)
    except PartlyRead as error:
        return Looked(LoadResult(0), "", {}, all_wrong(table, error, by=by).problems)
    except TableErrors as error:
        return Looked(LoadResult(0), "", {}, error.problems)
    mark, head = found.mark, found.head
    try:
        result = table.check(found.rows, by=by)
    except TableErrors as error:
        return Looked(LoadResult(len(found.rows)), mark, head, error.problems)
    return Looked(LoadResult(result.rows, [*found.said, *result.said]), mark, head)


@one_transaction
def bring_in(
    found: TableRead, *, name: str, by: Person, knowingly: bool = False, dry_run: bool = False
) -> LoadResult:
    """Bring in all rows of a table or none, and write down that it was done.

    Args: ``name`` of the file; ``knowingly`` lets the very same rows come once more.
    Raises: TableErrors; Conflict for rows that were brought in before.
    Queries: 3, and those of the table's own ``load``.
    """
    result = written(found, by=by, knowingly=knowingly, dry_run=dry_run)
    if not dry_run:
        note_load(found, result, name=name, by=by, knowingly=knowingly)
    return result


@one_transaction
def bring_in_upload(
    upload: Upload, *, found: TableRead, by: Person, knowingly: bool = False
) -> TableLoad:
    """Bring in a table that waited; it waits no longer.

    Raises: TableErrors; Conflict for rows that were brought in before; Gone where it waits
        no longer.
    Queries: 6, and those of the table's own ``load``.
    """
    take_turn()
    refuse_taken(upload)
    result = written(found, by=by, knowingly=knowingly)
    load = note_load(found, result, name=upload.name, by=by, knowingly=knowingly)
    throw_away(upload, by=by)
    return load


def written(found: TableRead, *, by: Person, knowingly: bool, dry_run: bool = False) -> LoadResult:
    """Write the rows of a table, unless they were brought in before."""
    take_turn()
    if not knowingly:
        refuse_again(kind=found.table.kind, mark=found.mark)
    result = found.table.load(found.rows, by=by, dry_run=dry_run)
    return replace(result, said=[*found.said, *result.said])


def note_load(
    found: TableRead, result: LoadResult, *, name: str, by: Person, knowingly: bool
) -> TableLoad:
    """Write down that a table was brought in."""
    return record_load(
        result, kind=found.table.kind, mark=found.mark, name=name, by=by, knowingly=knowingly
    )
