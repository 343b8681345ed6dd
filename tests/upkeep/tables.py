"""Every table of a database, read without Django, so that two engines can be held side by side."""

import json
import sqlite3
import subprocess
from collections.abc import Callable, Mapping
from contextlib import closing
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg
from psycopg import sql

from tests.empty import PG_PROGRAMS

Rows = list[tuple[Any, ...]]
Tables = dict[str, Rows]
Kinds = Mapping[str, Mapping[str, str]]

# How a value of either engine is written alike, by the kind that PostgreSQL gives its column.
ALIKE: Mapping[str, Callable[[Any], Any]] = {
    "boolean": bool,
    "numeric": lambda value: Decimal(str(value)).normalize(),
    "double precision": float,
    "uuid": lambda value: UUID(str(value)).hex,
    "date": lambda value: date.fromisoformat(str(value)),
    "inet": lambda value: str(value).removesuffix("/32"),
    "jsonb": lambda value: json.dumps(
        json.loads(value) if isinstance(value, str) else value, sort_keys=True
    ),
    "timestamp with time zone": lambda value: moment(str(value)),
}


def moment(text: str) -> datetime:
    """Return a moment in UTC; SQLite has none but that of UTC."""
    read = datetime.fromisoformat(text)
    return read.astimezone(UTC) if read.tzinfo else read.replace(tzinfo=UTC)


def alike(value: Any, kind: str) -> Any:
    """Return a value as it is written for either engine."""
    return value if value is None else ALIKE.get(kind, lambda same: same)(value)


def ordered(rows: Rows, columns: list[str], kinds: Mapping[str, str]) -> Rows:
    """Return rows with their values alike, sorted."""
    made = [
        tuple(alike(value, kinds[name]) for name, value in zip(columns, row, strict=True))
        for row in rows
    ]
    return sorted(made, key=repr)


def kinds_on(url: str) -> Kinds:
    """Return the kind of every column of a PostgreSQL database."""
    found: dict[str, dict[str, str]] = {}
    with psycopg.connect(url) as session:
        for table, column, kind in session.execute(
            "SELECT table_name, column_name, data_type FROM information_schema.columns "
            "WHERE table_schema = 'public'"
        ):
            found.setdefault(table, {})[column] = kind
    return found


def tables_on(url: str) -> Tables:
    """Return every table of a PostgreSQL database."""
    kinds, found = kinds_on(url), {}
    with psycopg.connect(url) as session:
        for table, columns in kinds.items():
            names = sorted(columns)
            listed = sql.SQL(", ").join(map(sql.Identifier, names))
            rows = session.execute(
                sql.SQL("SELECT {} FROM {}").format(listed, sql.Identifier(table))
            ).fetchall()
            found[table] = ordered(rows, names, columns)
    return found


def tables_in(file: Path, *, kinds: Kinds) -> Tables:
    """Return every table of a SQLite file."""
    found = {}
    with closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as session:
        listed = session.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
        ).fetchall()
        for (table,) in listed:
            names = sorted(row[1] for row in session.execute(f'PRAGMA table_info("{table}")'))
            assert set(names) == set(kinds[table]), table
            columns = ", ".join(f'"{name}"' for name in names)
            rows = session.execute(f'SELECT {columns} FROM "{table}"').fetchall()
            found[table] = ordered(rows, names, kinds[table])
    return found


def play(dump: Path, url: str) -> None:
    """Let psql carry out a dump in an empty database, as somebody without fraginv would."""
    subprocess.run(
        [
            PG_PROGRAMS / "psql",
            "-Xq",
            "--single-transaction",
            "-v",
            "ON_ERROR_STOP=1",
            "-f",
            dump,
            url,
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )


def differing(one: Tables, other: Tables) -> list[str]:
    """Name the tables that do not hold the same rows."""
    return [
        f"{table}: {len(one.get(table, []))} and {len(other.get(table, []))} rows"
        for table in sorted(one.keys() | other.keys())
        if one.get(table) != other.get(table)
    ]
