"""Whether the house is well: database, worker, disk, backup, what failed, what verify found."""

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Max, Min

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.upkeep.models import Beat, Checkup
from fraginv.upkeep.queries.backups import last_good_backup
from fraginv.upkeep.queries.tasks import SILENT, count_failed

BACKUP_HOURS: Final = 36
LEAST_FREE_BYTES: Final = 500 * 1024 * 1024
GIGABYTE: Final = 1_000_000_000
known: set[str] = set()


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at; ``grave`` says that the house is not well while it is so."""

    name: str
    ok: bool
    said: str
    advice: str = ""
    grave: bool = True


def findings() -> Sequence[Finding]:
    """Return everything that was looked at.

    Queries: 5.
    """
    return [*grave_findings(), failed_found(), verify_found()]


def not_well() -> list[Finding]:
    """Return what needs a look.

    Queries: 4 or 5.
    """
    return [finding for finding in findings() if not finding.ok]


def grave_findings() -> list[Finding]:
    """Return what must be well.

    That the worker could write its sign of life shows as well that the database
    takes writes: a full or read-only disk ends it within minutes.
    Queries: 3.
    """
    return [worker_found(), disk_found(), backup_found(), migrations_found()]


def worker_found() -> Finding:
    """Look for a worker's last sign of life."""
    last: datetime | None = Beat.objects.aggregate(last=Max("beat_at"))["last"]
    if last is None:
        return Finding(
            "Worker", False, "none", "Nothing that waits is done. Run `start`, or `work` beside it."
        )
    age = max(clock.now() - last, timedelta())
    if age <= SILENT:
        return Finding("Worker", True, "works")
    return Finding(
        "Worker",
        False,
        f"silent for {in_words(age)}",
        "Nothing that waits is done. Look into the log, then start fraginv again.",
    )


def disk_found() -> Finding:
    """Look how much room the home's disk has."""
    free = shutil.disk_usage(settings.FRAGINV_HOME).free
    said = f"{free / GIGABYTE:.1f} GB free"
    advice = "Make room before it is full: sales cannot be written on a full disk."
    return Finding("Disk", free >= LEAST_FREE_BYTES, said, advice)


def backup_found() -> Finding:
    """Look how old the last good backup is; a house of a day or so has none yet."""
    last, limit = last_good_backup(), timedelta(hours=BACKUP_HOURS)
    advice = "Look why below, or make one now: `python manage.py backup FILE`."
    if last is not None:
        age = max(clock.now() - last.at, timedelta())
        return Finding("Last good backup", age <= limit, f"{in_words(age)} ago", advice)
    first: datetime | None = Person.objects.aggregate(first=Min("since"))["first"]
    is_new = first is not None and clock.now() - first <= limit
    return Finding("Last good backup", is_new, "none yet", "" if is_new else advice)


def migrations_found() -> Finding:
    """Look whether the database is as this version needs it."""
    return Finding(
        "Database",
        is_migrated(),
        "answers" if is_migrated() else "older than the code",
        "Start fraginv again: `start` brings it up to date.",
    )


def failed_found() -> Finding:
    """Look for work that failed for good."""
    count = count_failed()
    advice = "Look at the waiting work, and try it again or put it away."
    return Finding("Failed work", not count, str(count) if count else "none", advice, grave=False)


def last_checkup() -> Checkup | None:
    """Return what verify found last.

    Queries: 1.
    """
    return Checkup.objects.first()


def verify_found() -> Finding:
    """Look what the last nightly verify found."""
    last = last_checkup()
    if last is None:
        return Finding("Verify", True, "not yet", grave=False)
    said = "all agrees" if not last.count else f"{last.count} differences"
    advice = "Run `python manage.py verify` and show its list to whoever looks after fraginv."
    return Finding("Verify", not last.count, said, advice, grave=False)


def is_migrated() -> bool:
    """Tell whether every migration was applied; asked until it is so, then known.

    Queries: 1 or 2, none once it is known.
    """
    if not known:
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            return False
        known.add("migrated")
    return True


def in_words(age: timedelta) -> str:
    """Return a time in the largest unit that says it well."""
    minutes = int(age.total_seconds() // 60)
    for size, word in ((24 * 60, "day"), (60, "hour"), (1, "minute")):
        if minutes >= 2 * size or (size == 1 and minutes):
            count = minutes // size
            return f"{count} {word}{'s' if count != 1 else ''}"
    return "less than a minute"
