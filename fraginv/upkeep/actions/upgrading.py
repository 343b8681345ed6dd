"""What must be so before the code's migrations touch a database."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

from django.core.management import call_command
from django.db import connection

from fraginv.base import clock
from fraginv.base.errors import InputError
from fraginv.base.version import version
from fraginv.upkeep.actions.backups import Made, back_up, backups_folder, record_backup
from fraginv.upkeep.models import Backup
from fraginv.upkeep.queries.migrations import (
    applied_migrations,
    has_records,
    pending_migrations,
    unknown_migrations,
)
from fraginv.upkeep.rules.nightly import upgrade_name

# A number that nothing else in the database is locked by.
UPGRADING: Final = 7_151_996


def bring_up_to_date() -> Made | None:
    """Migrate the database, after a backup where there is something to lose.

    Returns: the backup, where one was made.
    Raises: InputError for a database that is newer than the code; BackupFailed
        where the backup could not be made, and then nothing was migrated.
    """
    with one_upgrade():
        refuse_newer_database()
        made = back_up_before_migrating()
        call_command("migrate", verbosity=0, interactive=False)
        if made is not None:
            record_backup(made, how=Backup.How.UPGRADE)
    return made


@contextmanager
def one_upgrade() -> Iterator[None]:
    """Let one machine after the other bring a database up to date that several share.

    A home's own database is guarded by the home's lock.
    """
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [UPGRADING])
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [UPGRADING])


def refuse_newer_database() -> None:
    """Refuse a database that newer code has changed; nothing is written.

    Raises: InputError naming the migrations that this code does not know.
    Queries: 2.
    """
    unknown = unknown_migrations(applied_migrations())
    if unknown:
        names = ", ".join(f"{app} {name}" for app, name in unknown)
        raise InputError(
            f"The database is newer than this fraginv {version()}, which does not know {names}. "
            "Install the newer version again, or restore the backup from before the upgrade "
            "into an empty home."
        )


def back_up_before_migrating() -> Made | None:
    """Make a backup where there are records and migrations are pending.

    The database may be of an older version, so nothing is written into it;
    ``record_backup`` writes the backup down after migrating.
    Returns: the backup, or None where none was needed.
    Raises: BackupFailed.
    """
    if not has_records() or not pending_migrations():
        return None
    return back_up(backups_folder() / upgrade_name(clock.now(), version=version()))
