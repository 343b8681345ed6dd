"""Whether a home and its database are empty, as a restore needs them."""

from pathlib import Path

from django.conf import settings
from django.core.files.storage import Storage
from django.db import connection

from fraginv.base.errors import Conflict
from fraginv.base.home import LOCK_FILE
from fraginv.base.queries.files import storage_for
from fraginv.upkeep.rules.archive import KEY

SHOWN = 3


def refuse_full() -> None:
    """Refuse a home, a store or a database in which anything is.

    A signing key and a lock count for nothing: settings and commands make them in every home.
    Raises: Conflict naming what is there.
    Queries: 1, and none where SQLite has no file yet.
    """
    home = settings.FRAGINV_HOME
    passed = {home / KEY, home / LOCK_FILE, *database_files()}
    files = sorted(one.name for one in home.iterdir() if one not in passed and holds_file(one))
    kinds = [files, tables()]
    if settings.ENVIRONMENT.media is not None:
        kinds += [list(stored(storage_for(private=private))) for private in (False, True)]
    # One of each kind is named before more of the same.
    there = [kind[0] for kind in kinds if kind] + [one for kind in kinds for one in kind[1:]]
    if there:
        more = f" and {len(there) - SHOWN} more" if len(there) > SHOWN else ""
        raise Conflict(
            f"A backup is restored only into an empty home. Here is {', '.join(there[:SHOWN])}"
            f"{more}. Set FRAGINV_HOME to a new folder and, where one is set, DATABASE_URL to an "
            "empty database and FRAGINV_MEDIA to an empty store."
        )


def holds_file(one: Path) -> bool:
    """Tell whether something is a file, or a folder with one in it."""
    return not one.is_dir() or any(not inner.is_dir() for inner in one.rglob("*"))


def database_files() -> list[Path]:
    """Return the files that SQLite keeps; none of another engine."""
    if connection.vendor != "sqlite":
        return []
    name = str(connection.settings_dict["NAME"])
    return [Path(f"{name}{end}") for end in ("", "-wal", "-shm", "-journal")]


def tables() -> list[str]:
    """Return what is in the database."""
    files = database_files()
    if files and not files[0].exists():
        return []
    with connection.cursor() as cursor:
        found = connection.introspection.table_names(cursor, include_views=True)
    return [f"the table {name}" for name in sorted(found)]


def stored(storage: Storage) -> list[str]:
    """Return what is at the top of a store."""
    try:
        folders, files = storage.listdir("")
    except FileNotFoundError:
        return []
    return [f"{name} in the store" for name in sorted([*folders, *files]) if name]


def routines() -> set[str]:
    """Return the functions in PostgreSQL's schema that are ours; none of another engine.

    Queries: at most 1.
    """
    if connection.vendor != "postgresql":
        return set()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT oid::regprocedure::text FROM pg_proc WHERE pronamespace = "
            "current_schema()::regnamespace AND proowner = current_user::regrole"
        )
        return {name for (name,) in cursor.fetchall()}
