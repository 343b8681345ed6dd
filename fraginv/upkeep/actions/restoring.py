"""Restoring a backup into an empty home, onto either engine; all of it, or nothing."""

import logging
import os
import shutil
import sqlite3
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Generic, TypeVar

from django.conf import settings
from django.core.files import File
from django.core.files.storage import Storage
from django.core.management import call_command
from django.db import DatabaseError, connection

from fraginv.base.errors import InputError
from fraginv.base.queries.files import storage_for
from fraginv.base.version import version
from fraginv.upkeep.actions.rows import make_tables, put_lines, put_rows, refuse_lost_rows
from fraginv.upkeep.queries.archives import (
    check_hashes,
    lines_in,
    manifest_in,
    opened,
    refuse_no_room,
    verified,
)
from fraginv.upkeep.queries.copies import Census, census_of_file
from fraginv.upkeep.queries.emptiness import database_files, refuse_full, routines
from fraginv.upkeep.queries.history import Model, last_of_each, models_at
from fraginv.upkeep.queries.migrations import unknown_migrations
from fraginv.upkeep.queries.sources import beside, refuse_strange, rows_beside, rows_of_dump
from fraginv.upkeep.rules.archive import (
    FOLDERS,
    KEY,
    Entry,
    Manifest,
    Migration,
    RestoreFailed,
)

log = logging.getLogger(__name__)
T = TypeVar("T")
COPY = "restored.part"


@dataclass(frozen=True)
class Restored(Generic[T]):
    """What was restored: the backup's manifest, tables left out, and what the check found."""

    manifest: Manifest
    left_out: Sequence[str]
    found: T


def restore(file: Path, *, check: Callable[[], T]) -> Restored[T]:
    """Restore a backup into the empty home and the empty database of the settings.

    Everything is looked at before anything is written. The rows come back as
    they were at the backup's migrations, and then the code's own follow.
    Args: ``check`` is asked at the end what it finds; the key comes after it.
    Raises: Conflict where something is there already; InputError for a backup
        that is damaged, is newer than the code or does not fit; RestoreFailed where
        disk or database refuse. Home, store and database are as empty as before.
    """
    refuse_full()
    with opened(file) as archive:
        manifest = look_through(archive)
        refuse_full()  # on a shared database somebody may have begun meanwhile
        with all_or_nothing(manifest):
            left_out = put_database(archive, manifest=manifest)
            put_files(archive, manifest=manifest)
            call_command("migrate", verbosity=0, interactive=False)
            found = check()
            put_key(archive.read(KEY))
            os.sync()
    return Restored(manifest, left_out, found)


def look_through(archive: zipfile.ZipFile) -> Manifest:
    """Look at everything in a backup, and write nothing.

    Raises: InputError for what is damaged, unsafe, too large for the disk or
        newer than the code.
    """
    manifest = manifest_in(archive)
    refuse_newer(manifest)
    refuse_no_room(manifest, folder=settings.FRAGINV_HOME)
    check_hashes(archive, manifest=manifest)
    return manifest


def refuse_newer(manifest: Manifest) -> None:
    """Refuse a backup that newer code has made.

    Raises: InputError naming the migrations that this code does not know.
    """
    unknown = unknown_migrations(manifest.migrations)
    if unknown:
        names = ", ".join(f"{app} {name}" for app, name in unknown)
        raise InputError(
            f"The backup was made by fraginv {manifest.version}, and this is {version()}, which "
            f"does not know {names}. Install a fraginv that is as new as the backup."
        )


def put_database(archive: zipfile.ZipFile, *, manifest: Manifest) -> list[str]:
    """Put the backup's database in place of the empty one; return the tables left out.

    Raises: InputError.
    """
    targets = last_of_each(manifest.migrations)
    tables = models_at(targets)
    if manifest.engine == "postgresql":
        put_dump(archive, manifest=manifest, targets=targets, tables=tables)
    else:
        with unpacked(archive, manifest=manifest) as copy:
            if connection.vendor == "sqlite":
                connection.close()
                for file in database_files():
                    file.unlink(missing_ok=True)
                copy.rename(database_files()[0])
                return []
            make_tables(targets)
            with beside(copy):
                put_rows(lambda: rows_beside(tables), tables=tables)
    refuse_lost_rows(tables, rows=manifest.rows)
    return sorted(set(manifest.rows) - set(tables))


def put_dump(
    archive: zipfile.ZipFile,
    *,
    manifest: Manifest,
    targets: Sequence[Migration],
    tables: Mapping[str, Model],
) -> None:
    """Put the rows of a dump into tables that the code's migrations make.

    Raises: InputError.
    """

    def lines() -> Iterator[bytes]:
        return lines_in(archive, path=manifest.database)

    census = Census()
    refuse_strange(census.watching(lines()), tables=tables)
    refuse_other(census, manifest=manifest)
    make_tables(targets)
    if connection.vendor == "postgresql":
        put_lines(lines, tables=tables)
    else:
        put_rows(lambda: rows_of_dump(lines(), tables=tables), tables=tables)


@contextmanager
def unpacked(archive: zipfile.ZipFile, *, manifest: Manifest) -> Iterator[Path]:
    """Give the backup's SQLite database as a file of its own, looked at; it goes afterwards.

    Raises: InputError for one that is not what the manifest says.
    """
    beside = [*database_files(), settings.FRAGINV_HOME / COPY][0]
    copy = beside.with_name(COPY)
    entry = next(entry for entry in manifest.entries if entry.path == manifest.database)
    try:
        descriptor = os.open(copy, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with archive.open(entry.path) as source, os.fdopen(descriptor, "wb") as sink:
            for chunk in verified(source, entry=entry):
                sink.write(chunk)
            os.fsync(sink.fileno())
        try:
            census = census_of_file(copy)
        except sqlite3.Error as error:
            raise InputError(f"The backup's database cannot be read: {error}.") from error
        refuse_other(census, manifest=manifest)
        yield copy
    finally:
        copy.unlink(missing_ok=True)


def refuse_other(census: Census, *, manifest: Manifest) -> None:
    """Refuse a database that is not the one that the manifest describes.

    Raises: InputError.
    """
    if census.rows != manifest.rows or sorted(census.migrations) != sorted(manifest.migrations):
        raise InputError(
            "The backup's database is not the one that its manifest describes. Take another backup."
        )


def put_files(archive: zipfile.ZipFile, *, manifest: Manifest) -> None:
    """Put photos and papers into the stores, under the names that the database knows.

    Raises: RestoreFailed for a store that does not keep what it is given.
    """
    for entry, storage, name in stored_entries(manifest):
        with archive.open(entry.path) as handle:
            kept = storage.save(name, File(handle, name=name))
        if kept != name or storage.size(name) != entry.size:
            raise RestoreFailed(f"The store did not keep {entry.path} as it was given.")


def stored_entries(manifest: Manifest) -> Iterator[tuple[Entry, Storage, str]]:
    """Yield what belongs into a store: the entry, the store, and the name in it."""
    for entry in manifest.entries:
        folder, _, name = entry.path.partition("/")
        if folder in FOLDERS:
            yield entry, storage_for(private=folder == "private"), name


def put_key(key: bytes) -> None:
    """Put the backup's signing key in place of the fresh one, readable to its owner alone."""
    file = settings.FRAGINV_HOME / KEY
    draft = file.with_name(f"{KEY}.part")
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(descriptor, "wb") as sink:
        sink.write(key)
        os.fsync(sink.fileno())
    draft.replace(file)


@contextmanager
def all_or_nothing(manifest: Manifest) -> Iterator[None]:
    """Leave home, store and database empty when not everything could be restored.

    Raises: RestoreFailed in plain words where disk or database refused.
    """
    before = routines()
    try:
        yield
    except BaseException as error:
        undo(manifest, before=before)
        if isinstance(error, OSError | DatabaseError):
            raise RestoreFailed(
                f"The backup could not be restored: {str(error).strip()}. Nothing was written; "
                "set right what is in the way and try again."
            ) from error
        raise


def undo(manifest: Manifest, *, before: set[str]) -> None:
    """Remove everything that a restore has made, whatever of it cannot be removed."""
    steps = (partial(remove_database, before), remove_key_part, partial(remove_files, manifest))
    for step in steps:
        try:
            step()
        except Exception:
            log.exception("Something that a restore had made could not be removed.")


def remove_database(before: set[str]) -> None:
    """Remove what a restore has put into the database."""
    if connection.vendor == "postgresql":
        drop_all(before)
    connection.close()
    for file in database_files():
        file.unlink(missing_ok=True)


def remove_key_part() -> None:
    """Remove the signing key that was about to be put in place."""
    (settings.FRAGINV_HOME / f"{KEY}.part").unlink(missing_ok=True)


def remove_files(manifest: Manifest) -> None:
    """Remove a backup's photos and papers from the stores, and the folders that held them."""
    for _, storage, name in stored_entries(manifest):
        storage.delete(name)
    for folder in FOLDERS:
        shutil.rmtree(settings.FRAGINV_HOME / folder, ignore_errors=True)


def drop_all(before: set[str]) -> None:
    """Drop every table of PostgreSQL's schema, and the functions that were not there before."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)} CASCADE")
        for routine in routines() - before:
            cursor.execute(f"DROP ROUTINE IF EXISTS {routine} CASCADE")
