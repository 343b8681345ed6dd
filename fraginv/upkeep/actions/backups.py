"""Backups made by hand, every night, and before an upgrade; each is written down."""

import logging
import shutil
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError

from fraginv.base import clock
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.actions.archives import (
    refuse_existing,
    to_disk,
    whole_or_nothing,
    write_archive,
)
from fraginv.upkeep.models import Backup
from fraginv.upkeep.queries.archives import hash_of
from fraginv.upkeep.rules.archive import BackupFailed, Manifest

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Made:
    """A backup that was made: where, how large, from when, and how long it took."""

    at: datetime
    file: Path
    size_bytes: int
    sha256: str
    seconds: float
    manifest: Manifest

    @property
    def problem(self) -> str:
        """Say what the backup lacks, or nothing."""
        problems = self.manifest.problems
        if not problems:
            return ""
        more = f" and {len(problems) - 3} more" if len(problems) > 3 else ""
        return (
            f"Files that the database names were not all in the store: {'; '.join(problems[:3])}"
            f"{more}. The backup holds everything else. Send those pictures again, "
            "or put the files back from an older backup."
        )


def back_up(target: Path) -> Made:
    """Make a backup and write nothing down; for before the database can be written.

    Raises: Conflict and BackupFailed as ``write_archive``.
    """
    at, started = clock.now(), time.monotonic()
    manifest = write_archive(target)
    return Made(
        at=at,
        file=target,
        size_bytes=target.stat().st_size,
        sha256=hash_of(target),
        seconds=round(time.monotonic() - started, 3),
        manifest=manifest,
    )


@one_transaction
def record_backup(
    made: Made, *, how: str, copied: bool = False, second_problem: str = ""
) -> Backup:
    """Write down a backup that was made."""
    return Backup.objects.create(
        at=made.at,
        how=how,
        file=str(made.file)[:500],
        size_bytes=made.size_bytes,
        sha256=made.sha256,
        seconds=made.seconds,
        problem=made.problem,
        copied=copied,
        second_problem=second_problem,
    )


def record_failure(target: Path, *, how: str, problem: str) -> None:
    """Write down why a backup could not be made, where the database lets itself be written.

    On a full disk it may not; then the log has it alone.
    """
    try:
        write_failure(target, how=how, problem=problem)
    except DatabaseError as error:
        log.error("A failed backup could not be written down: %s", error)


@one_transaction
def write_failure(target: Path, *, how: str, problem: str) -> Backup:
    """Write down a backup that could not be made."""
    return Backup.objects.create(at=clock.now(), how=how, file=str(target)[:500], problem=problem)


def make_backup(target: Path, *, how: str = Backup.How.HAND) -> Made:
    """Make a backup and write it down, or write down why it could not be made.

    Raises: Conflict and BackupFailed as ``write_archive``.
    """
    try:
        made = back_up(target)
    except BackupFailed as error:
        record_failure(target, how=how, problem=error.message)
        raise
    record_backup(made, how=how)
    return made


def backups_folder() -> Path:
    """Return where backups go that are made by themselves; it is made when it is missing.

    Raises: BackupFailed.
    """
    folder = Path(settings.ENVIRONMENT.backups or settings.FRAGINV_HOME / "backups")
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise BackupFailed(f"{folder} cannot be made: {error.strerror}.") from error
    return folder


def copy_backup(file: Path, *, folder: Path, sha256: str) -> Path:
    """Copy a backup into another folder, and read the copy back.

    The folder is never made: where a disk is not mounted, the copy would land
    on the first one.
    Raises: Conflict and BackupFailed; nothing is left then.
    """
    if not folder.is_dir():
        raise BackupFailed(f"{folder} is not there. Mount its disk, or make the folder once.")
    target = folder / file.name
    refuse_existing(target)
    with whole_or_nothing(target) as part:
        with file.open("rb") as source, part.open("wb") as sink:
            shutil.copyfileobj(source, sink, 1024 * 1024)
        to_disk(part)
        if hash_of(part) != sha256:
            raise BackupFailed(f"The copy in {folder} did not read back as it was written.")
    return target
