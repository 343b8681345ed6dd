"""Putting the rows of a backup into an empty database of another engine or another day."""

from collections.abc import Callable, Iterable, Iterator, Mapping

from django.core.exceptions import ValidationError
from django.core.management.color import no_style
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from psycopg import sql

from fraginv.base.errors import InputError
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.queries.history import Model
from fraginv.upkeep.queries.sources import Batch, count_of
from fraginv.upkeep.rules.archive import Migration
from fraginv.upkeep.rules.copy_text import told

Tables = Mapping[str, Model]


def make_tables(targets: Iterable[Migration]) -> None:
    """Migrate the empty database to where the backup's was, and no further."""
    MigrationExecutor(connection).migrate(list(targets))


def put_rows(source: Callable[[], Iterator[Batch]], *, tables: Tables) -> None:
    """Put rows in place of those that migrations brought; all, or none.

    Raises: InputError naming the table whose rows the database does not take.
    """
    plain_errors(lambda: put_batches(source, tables=tables))


@one_transaction
def put_batches(source: Callable[[], Iterator[Batch]], *, tables: Tables) -> None:
    """Write batches of rows into emptied tables."""
    empty(tables)
    for model, rows in source():
        try:
            model._base_manager.using(connection.alias).bulk_create(rows)
        except (DatabaseError, ValueError, OverflowError) as error:
            raise InputError(
                f"Rows of {model._meta.db_table} cannot be taken over: {str(error).strip()}. "
                "Nothing was restored."
            ) from error
    finish(tables)


def put_lines(source: Callable[[], Iterable[bytes]], *, tables: Tables) -> None:
    """Put the rows of a dump into PostgreSQL as they stand in it; all, or none.

    Nothing else that the dump says is carried out.
    Raises: InputError as ``put_rows``.
    """
    plain_errors(lambda: put_blocks(source, tables=tables))


@one_transaction
def put_blocks(source: Callable[[], Iterable[bytes]], *, tables: Tables) -> None:
    """Copy the rows of a dump into emptied tables."""
    empty(tables)
    lines = told(source())
    with connection.cursor() as cursor:
        for _, block, _ in lines:
            if block is None or block.table not in tables:
                continue
            columns = sql.SQL(", ").join(map(sql.Identifier, block.columns))
            order = sql.SQL("COPY {} ({}) FROM STDIN").format(sql.Identifier(block.table), columns)
            with cursor.copy(order) as copy:
                for line, _, is_row in lines:
                    if not is_row:
                        break
                    copy.write(line)
    finish(tables)


def empty(tables: Tables) -> None:
    """Remove every row of these tables."""
    names = list(tables)
    connection.ops.execute_sql_flush(
        connection.ops.sql_flush(no_style(), names, reset_sequences=False)
    )


def finish(tables: Tables) -> None:
    """Check what rows say of each other, and let new rows be numbered after the last."""
    connection.check_constraints()
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables.values())):
            cursor.execute(statement)


def plain_errors(write: Callable[[], None]) -> None:
    """Say in plain words why rows cannot be taken over.

    Raises: InputError.
    """
    try:
        write()
    except (DatabaseError, ValidationError, ValueError, TypeError) as error:
        raise InputError(
            f"The rows of the backup cannot be taken over: {str(error).strip()}. "
            "Nothing was restored."
        ) from error


def refuse_lost_rows(tables: Tables, *, rows: Mapping[str, int]) -> None:
    """Refuse tables that have other numbers of rows than the backup.

    Raises: InputError naming the first.
    Queries: 1 for each table.
    """
    for name, model in tables.items():
        if count_of(model) != rows.get(name, 0):
            raise InputError(f"Not all rows of {name} arrived. Nothing was restored.")
