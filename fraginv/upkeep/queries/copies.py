"""Copies of the database as it is at one moment, while people work on."""

import os
import sqlite3
import subprocess
import tempfile
from collections.abc import Generator, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from django.db import connection

from fraginv.upkeep.queries.programs import dump_command
from fraginv.upkeep.rules.archive import BackupFailed, Migration
from fraginv.upkeep.rules.copy_text import LAST_WORDS, fields_of, told

MIGRATIONS = "django_migrations"
BUSY_SECONDS = 20


@dataclass
class Census:
    """What was counted in a copy: rows by table, and the migrations that made it."""

    rows: dict[str, int] = field(default_factory=dict)
    migrations: list[Migration] = field(default_factory=list)

    def watching(self, lines: Iterable[bytes]) -> Iterator[bytes]:
        """Yield the lines of a dump, and count its rows on the way.

        Raises: InputError for a dump that breaks off.
        """
        for line, block, is_row in told(lines):
            yield line
            if block is None:
                continue
            self.rows[block.table] = self.rows.get(block.table, 0) + is_row
            if is_row and block.table == MIGRATIONS:
                row = dict(zip(block.columns, fields_of(line), strict=True))
                self.migrations.append((str(row["app"]), str(row["name"])))


def engine_version() -> str:
    """Return the version of the database's engine.

    Queries: at most 1.
    """
    if connection.vendor == "sqlite":
        return sqlite3.sqlite_version
    connection.ensure_connection()
    number = connection.pg_version  # type: ignore[attr-defined]  # PostgreSQL alone
    return f"{number // 10_000}.{number % 10_000}"


def copy_sqlite(target: Path) -> Census:
    """Copy the SQLite database into a new file by its online backup, and check the copy.

    All pages are read under one lock for readers, which no writer waits for.
    Returns: what was counted in the copy.
    Raises: BackupFailed for a copy that is not sound; sqlite3.Error, OSError.
    """
    source_file = Path(connection.settings_dict["NAME"])
    os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
    address = f"{source_file.absolute().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(address, uri=True, timeout=BUSY_SECONDS)) as source,
        closing(sqlite3.connect(target, isolation_level=None)) as copy,
    ):
        copy.execute("PRAGMA synchronous=OFF")  # it is read back from the finished archive
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")  # so that the copy is one file
        return sound_census(copy)


def census_of_file(file: Path) -> Census:
    """Count what is in a SQLite file, after it was found sound.

    Raises: BackupFailed; sqlite3.Error for what is no database.
    """
    with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as copy:
        return sound_census(copy)


def sound_census(copy: sqlite3.Connection) -> Census:
    """Count what is in a SQLite database, after it was found sound.

    Raises: BackupFailed.
    """
    refuse_unsound(copy)
    return census_of(copy)


def refuse_unsound(copy: sqlite3.Connection) -> None:
    """Refuse a SQLite database that is damaged.

    Raises: BackupFailed.
    """
    said = [row[0] for row in copy.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise BackupFailed(
            f"The database is damaged: {'; '.join(said)}. Stop the pages and keep its file; "
            "then restore the last good backup into an empty home."
        )
    orphan = copy.execute("PRAGMA foreign_key_check").fetchone()
    if orphan is not None:
        raise BackupFailed(
            f"A row of {orphan[0]} points to a row of {orphan[2]} that does not exist. "
            "Restore the last good backup into an empty home and compare."
        )


def census_of(copy: sqlite3.Connection) -> Census:
    """Count what is in a SQLite database."""
    tables = [
        name
        for (name,) in copy.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite!_%' "
            "ESCAPE '!' ORDER BY name"
        )
    ]
    rows = {}
    for table in tables:
        quoted = table.replace('"', '""')
        (rows[table],) = copy.execute(f'SELECT count(*) FROM "{quoted}"').fetchone()  # noqa: S608
    found = copy.execute("SELECT app, name FROM django_migrations ORDER BY id").fetchall()
    return Census(rows, [(app, name) for app, name in found])


def dump_lines() -> Generator[bytes]:
    """Yield the lines of a plain dump of PostgreSQL, as of one moment.

    Raises: BackupFailed where pg_dump is missing, fails or breaks off.
    """
    command, variables = dump_command()
    last = b""
    with tempfile.TemporaryFile() as complaints:
        with subprocess.Popen(  # noqa: S603 its words come from the settings
            command, stdout=subprocess.PIPE, stderr=complaints, env={**os.environ, **variables}
        ) as dump:
            assert dump.stdout is not None  # noqa: S101 it was asked for
            try:
                for line in dump.stdout:
                    last = line.rstrip() if line.startswith(LAST_WORDS) else last
                    yield line
            except GeneratorExit:  # nobody wants the rest
                dump.terminate()
                raise
        if dump.returncode or last != LAST_WORDS:
            complaints.seek(0)
            said = complaints.read(2000).decode(errors="replace").strip()
            raise BackupFailed(f"pg_dump failed: {said or 'it broke off'}.")
