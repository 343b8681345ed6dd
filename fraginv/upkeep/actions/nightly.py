"""The backup of every night, its copy in a second place, and how many are kept."""

import logging
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.conf import settings

from fraginv.base import clock
from fraginv.base.errors import FraginvError
from fraginv.base.tasks import later
from fraginv.upkeep.actions.backups import (
    Made,
    back_up,
    backups_folder,
    copy_backup,
    record_backup,
    record_failure,
)
from fraginv.upkeep.models import Backup
from fraginv.upkeep.rules.nightly import LEFT_OVER, incomplete_name, nightly_name, too_many

log = logging.getLogger(__name__)
STALE = timedelta(days=1)


@later(title="Make a backup", tries=4)
def nightly_backup() -> None:
    """Make the backup of the night, or one in between that is kept like it."""
    back_up_nightly()


def back_up_nightly() -> Backup:
    """Make the night's backup, copy it to the second place, and let the oldest go.

    A copy that fails is written down and leaves the first one good. Twice in a
    night does no harm: there are two backups then.
    Raises: FraginvError where no backup could be made; that is written down too.
    """
    folder, second = backups_folder(), settings.ENVIRONMENT.backups_second
    target = folder / nightly_name(clock.now())
    try:
        made = named_by_content(back_up(target))
    except FraginvError as error:
        record_failure(target, how=Backup.How.NIGHT, problem=error.message)
        raise
    problem = "" if second is None else copied_to(second, made=made)
    copied = second is not None and not problem
    row = record_backup(made, how=Backup.How.NIGHT, copied=copied, second_problem=problem)
    tidy(folder, made=made)
    if second is not None and copied:
        tidy(second, made=made)
    return row


def named_by_content(made: Made) -> Made:
    """Let the name of a backup that lacks files say so."""
    if not made.problem:
        return made
    file = made.file.rename(made.file.with_name(incomplete_name(made.file.name)))
    return replace(made, file=file)


def copied_to(folder: Path, *, made: Made) -> str:
    """Copy a backup to the second place; return why it failed, or nothing."""
    try:
        copy_backup(made.file, folder=folder, sha256=made.sha256)
    except FraginvError as error:
        return error.message
    return ""


def tidy(folder: Path, *, made: Made) -> None:
    """Remove nightly backups beyond those that are kept, and parts that a power cut left."""
    names = [file.name for file in folder.iterdir()]
    keep = settings.ENVIRONMENT.backups_keep
    stale = [name for name in names if LEFT_OVER.fullmatch(name) and is_stale(folder / name)]
    for name in [*too_many(names, keep=keep, made=made.file.name), *stale]:
        try:
            (folder / name).unlink(missing_ok=True)
        except OSError as error:
            log.warning("An old backup could not be removed: %s", error.strerror)


def is_stale(file: Path) -> bool:
    """Tell whether nobody has written a file for a day."""
    try:
        written = datetime.fromtimestamp(file.stat().st_mtime, UTC)
    except OSError:
        return False
    return clock.now() - written > STALE
