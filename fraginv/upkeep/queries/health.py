"""Whether the house is well: database, worker, disk, backup, what failed, what verify found."""

import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Count, Subquery
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from fraginv.base import clock
from fraginv.base.models import Organisation, Person
from fraginv.upkeep.models import Backup, Beat, Checkup
from fraginv.upkeep.queries.tasks import AHEAD, SILENT

BACKUP_HOURS: Final = 36
LEAST_FREE_BYTES: Final = 500 * 1024 * 1024
GIGABYTE: Final = 1_000_000_000
known: set[str] = set()


@dataclass(frozen=True)
class Finding:
    """One thing that was looked at; ``grave`` says that the house is not well while it is so.

    Where nothing is ``known`` yet, it counts as well and is not called so.
    """

    name: str
    ok: bool
    said: str
    advice: str = ""
    grave: bool = True
    known: bool = True


@dataclass(frozen=True)
class Seen:
    """What the database says of the house, read at once."""

    beat_at: datetime | None = None
    backup_at: datetime | None = None
    since: datetime | None = None
    failed: int | None = None
    differences: int | None = None


def seen() -> Seen:
    """Read all that findings are made of.

    What lies far ahead was written before the clock was set back, and says nothing.
    Queries: 1.
    """
    latest = clock.now() + AHEAD
    beats = Beat.objects.filter(beat_at__lte=latest).order_by("-beat_at")
    good = Backup.objects.filter(problem="", at__lte=latest).order_by("-at", "-pk")
    checked = Checkup.objects.filter(at__lte=latest)
    people = Person.objects.filter(since__isnull=False).order_by("since")
    failed = DBTaskResult.objects.filter(status=TaskResultStatus.FAILED).order_by()
    row = (
        Organisation.objects.filter(pk=1)
        .values_list(
            Subquery(beats.values("beat_at")[:1]),
            Subquery(good.values("at")[:1]),
            Subquery(people.values("since")[:1]),
            Subquery(failed.values("status").annotate(many=Count("pk")).values("many")),
            Subquery(checked.values("count")[:1]),
        )
        .first()
    )
    return Seen(*row) if row else Seen()


def findings() -> Sequence[Finding]:
    """Return everything that was looked at.

    Queries: 1, and 2 more until the database is known to be as the code needs it.
    """
    now = seen()
    return [*grave_of(now), failed_found(now), verify_found(now)]


def not_well() -> list[Finding]:
    """Return what needs a look, of what can change while the pages are served.

    Queries: 1.
    """
    now = seen()
    looked = (worker_found(now), disk_found(), backup_found(now), failed_found(now))
    return [finding for finding in (*looked, verify_found(now)) if not finding.ok]


def grave_findings() -> list[Finding]:
    """Return what must be well.

    That the worker could write its sign of life shows as well that the database
    takes writes: a full or read-only disk ends it within minutes.
    Queries: as ``findings``.
    """
    return grave_of(seen())


def grave_of(now: Seen) -> list[Finding]:
    """Return what must be well, out of what was read."""
    return [worker_found(now), disk_found(), backup_found(now), migrations_found()]


def worker_found(now: Seen) -> Finding:
    """Look for a worker's last sign of life."""
    if now.beat_at is None:
        return Finding(
            "Worker", False, "none", "Nothing that waits is done. Run `start`, or `work` beside it."
        )
    age = max(clock.now() - now.beat_at, timedelta())
    if age <= SILENT:
        return Finding("Worker", True, "works")
    return Finding(
        "Worker",
        False,
        f"silent for {in_words(age)}",
        "Nothing that waits is done. Look into the log, then start fraginv again.",
    )


def disk_found() -> Finding:
    """Look how much room the home's disk has, and whether it can be written to."""
    home = settings.FRAGINV_HOME
    try:
        free, is_closed = shutil.disk_usage(home).free, bool(os.statvfs(home).f_flag & os.ST_RDONLY)
    except OSError:
        return Finding("Disk", False, "away", "Bring the disk with the home back.")
    if is_closed:
        advice = "Nothing more can be kept. See why the system let it be read alone."
        return Finding("Disk", False, "cannot be written to", advice)
    said = f"{free / GIGABYTE:.1f} GB free"
    advice = "Make room before it is full: sales cannot be written on a full disk."
    return Finding("Disk", free >= LEAST_FREE_BYTES, said, advice)


def backup_found(now: Seen) -> Finding:
    """Look how old the last good backup is; a house of a day or so has none yet."""
    limit = timedelta(hours=BACKUP_HOURS)
    advice = "Look why below, or make one now: `python manage.py backup FILE`."
    if now.backup_at is not None:
        age = max(clock.now() - now.backup_at, timedelta())
        return Finding("Last good backup", age <= limit, f"{in_words(age)} ago", advice)
    is_new = now.since is not None and clock.now() - now.since <= limit
    return Finding("Last good backup", is_new, "none yet", advice, known=not is_new)


def migrations_found() -> Finding:
    """Look whether the database is as this version needs it."""
    return Finding(
        "Database",
        is_migrated(),
        "answers" if is_migrated() else "older than the code",
        "Start fraginv again: `start` brings it up to date.",
    )


def failed_found(now: Seen) -> Finding:
    """Look for work that failed for good."""
    count = now.failed or 0
    advice = "Look at the waiting work, and try it again or put it away."
    return Finding("Failed work", not count, str(count) if count else "none", advice, grave=False)


def last_checkup() -> Checkup | None:
    """Return what verify found last.

    Queries: 1.
    """
    return Checkup.objects.first()


def verify_found(now: Seen) -> Finding:
    """Look what the last nightly verify found."""
    if now.differences is None:
        return Finding("Verify", True, "not yet", grave=False)
    many = "one difference" if now.differences == 1 else f"{now.differences} differences"
    said = many if now.differences else "all agrees"
    advice = "Run `python manage.py verify` and show its list to whoever looks after fraginv."
    return Finding("Verify", not now.differences, said, advice, grave=False)


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
