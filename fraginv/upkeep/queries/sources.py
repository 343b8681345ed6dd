"""Rows of a backup, read as models of the time when it was made."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from django.db import connection, connections, models
from django.db.models import Value

from fraginv.base.errors import InputError
from fraginv.upkeep.queries.history import Model, fields_by_column
from fraginv.upkeep.rules.copy_text import Block, fields_of, told

ALIAS = "restored"
BATCH = 1000

Batch = tuple[Model, list[models.Model]]
AnyField = models.Field[Any, Any]


@contextmanager
def beside(file: Path) -> Iterator[None]:
    """Let a SQLite file be read as a second database."""
    row = {**connections.settings["default"], "ENGINE": "django.db.backends.sqlite3"}
    row |= {"NAME": str(file), "OPTIONS": {}, "CONN_MAX_AGE": 0}
    connections.settings[ALIAS] = row
    try:
        yield
    finally:
        connections[ALIAS].close()
        del connections[ALIAS]
        del connections.settings[ALIAS]


def rows_beside(tables: Mapping[str, Model]) -> Iterator[Batch]:
    """Yield the rows of the second database, table by table.

    Queries: 1 for each table, and 1 for each JSON field that may be empty.
    """
    for model in tables.values():
        rows = model._base_manager.using(ALIAS).order_by("pk").iterator(BATCH)
        nulls = json_nulls(model)
        while batch := list(islice(rows, BATCH)):
            for row in batch:
                for field in nulls.get(row.pk, ()):
                    setattr(row, field.attname, Value(None, models.JSONField()))
            yield model, batch


def json_nulls(model: Model) -> dict[Any, list[AnyField]]:
    """Return which rows hold JSON's own null, which reads like no value and is another."""
    found: dict[Any, list[AnyField]] = {}
    for field in model._meta.local_concrete_fields:
        if isinstance(field, models.JSONField):
            where = {field.name: Value(None, models.JSONField())}
            for pk in model._base_manager.using(ALIAS).filter(**where).values_list("pk", flat=True):
                found.setdefault(pk, []).append(field)
    return found


def rows_of_dump(lines: Iterable[bytes], *, tables: Mapping[str, Model]) -> Iterator[Batch]:
    """Yield the rows of a dump, in its order.

    Raises: InputError for a value that its field does not take.
    """
    held: list[models.Model] = []
    model: Model | None = None
    fields: Sequence[AnyField] = ()
    for line, block, is_row in told(lines):
        if not is_row or len(held) == BATCH:
            if model is not None and held:
                yield model, held
            held = []
        if block is None or block.table not in tables:
            continue
        if not is_row:
            model = tables[block.table]
            fields = fields_for(block, model=model)
        elif model is not None:
            held.append(row_of(line, model=model, fields=fields))


def fields_for(block: Block, *, model: Model) -> list[AnyField]:
    """Return the fields of the columns that a dump gives.

    Raises: InputError where they are not those of the table.
    """
    by_column = fields_by_column(model)
    if set(by_column) != set(block.columns):
        raise InputError(
            f"The table {block.table} of the backup has other columns than its migrations make. "
            "Restore it with the fraginv that made it."
        )
    return [by_column[column] for column in block.columns]


def row_of(line: bytes, *, model: Model, fields: Sequence[AnyField]) -> models.Model:
    """Return one row of a dump.

    Raises: InputError for a value that its field does not take.
    """
    texts = fields_of(line)
    if len(texts) != len(fields):
        raise InputError(f"A row of {model._meta.db_table} is damaged. Take another backup.")
    values = {
        field.attname: None if text is None else value_of(text, field=field)
        for text, field in zip(texts, fields, strict=True)
    }
    return model(**values)


def value_of(text: str, *, field: AnyField) -> Any:
    """Return what a text of PostgreSQL means in a field."""
    if isinstance(field, models.JSONField):
        value = json.loads(text, cls=field.decoder)
        return Value(None, models.JSONField()) if value is None else value
    if isinstance(field, models.BinaryField):
        return bytes.fromhex(text.removeprefix("\\x"))
    return field.to_python(text)


def refuse_strange(lines: Iterable[bytes], *, tables: Mapping[str, Model]) -> None:
    """Look at the columns of every table in a dump that is to be restored.

    Raises: InputError where they are not those that the migrations make.
    """
    for _, block, is_row in told(lines):
        if block is not None and not is_row and block.table in tables:
            fields_for(block, model=tables[block.table])


def count_of(model: Model) -> int:
    """Return how many rows a table has.

    Queries: 1.
    """
    return model._base_manager.using(connection.alias).count()
