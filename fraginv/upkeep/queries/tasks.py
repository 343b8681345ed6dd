"""What waits to be done, what is being done, and what failed."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final, TypeAlias

from django.db.models import Q, QuerySet
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult, get_date_max

from fraginv.base import clock
from fraginv.base.rules.timetable import LONGEST_PAUSE
from fraginv.base.tasks import policy_of
from fraginv.upkeep.models import Beat

Row: TypeAlias = DBTaskResult[..., Any]
SILENT: Final = timedelta(minutes=3)
# What was written further ahead than this was written before the clock was set back. Smaller
# differences may be those between the clocks of two machines.
AHEAD: Final = timedelta(hours=1)
SHOWN: Final = 100


@dataclass(frozen=True)
class TaskRow:
    """One task as people read it; ``tries`` counts those that were begun."""

    pk: str
    title: str
    state: str
    since: datetime
    tries: int
    tries_left: int
    next_at: datetime | None
    problem: str
    trace: str


def ready_tasks() -> QuerySet[Row]:
    """Return the tasks that are due, the next one first."""
    due = Q(run_after=get_date_max()) | Q(run_after__lte=clock.now())
    return DBTaskResult.objects.filter(due, status=TaskResultStatus.READY)


def living_workers() -> list[str]:
    """Return the workers that gave a sign of life lately.

    One far ahead does not count: who lives has written another since the clock was set back.
    Queries: 1.
    """
    now = clock.now()
    beats = Beat.objects.filter(beat_at__range=(now - SILENT, now + AHEAD))
    return list(beats.values_list("worker", flat=True))


def lost_tasks(worker: str) -> list[Row]:
    """Return the tasks that are being done by workers that no longer live, or by an idle one.

    Args: ``worker`` does nothing at this moment.
    Queries: 1 while nothing runs, else 2.
    """
    running = list(DBTaskResult.objects.filter(status=TaskResultStatus.RUNNING))
    if not running:
        return []
    living = set(living_workers()) - {worker}
    return [row for row in running if is_lost(row, worker, living, now=clock.now())]


def is_lost(row: Row, worker: str, living: set[str], *, now: datetime) -> bool:
    """Tell whether nobody does a task any more; one that was just begun is given time."""
    by = row.worker_ids[-1]
    if by == worker:
        return True
    was_just_begun = row.started_at is not None and now - SILENT <= row.started_at <= now + AHEAD
    return by not in living and not was_just_begun


def tries_too_far() -> QuerySet[Row]:
    """Return tasks that are to be tried again later than any pause lasts: the clock was set back.

    Queries: none until it is read, then 1.
    """
    latest = clock.now() + LONGEST_PAUSE * 2
    waiting = DBTaskResult.objects.filter(status=TaskResultStatus.READY, run_after__gt=latest)
    return waiting.exclude(run_after=get_date_max()).exclude(exception_class_path="")


def tasks_open() -> list[TaskRow]:
    """Return what failed, what is being done and what waits, the failed ones first.

    Queries: 1.
    """
    order = {TaskResultStatus.FAILED: 0, TaskResultStatus.RUNNING: 1, TaskResultStatus.READY: 2}
    rows = DBTaskResult.objects.filter(status__in=[status.value for status in order])
    newest = list(rows.order_by("status", "-enqueued_at")[:SHOWN])  # FAILED is the first word
    newest.sort(key=lambda row: (order[TaskResultStatus(row.status)], row.enqueued_at))
    return [task_row(row) for row in newest]


def task_row(row: Row) -> TaskRow:
    """Return a task in words."""
    policy, tries = policy_of(row.task_path), len(row.worker_ids)
    waits = row.status == TaskResultStatus.READY
    return TaskRow(
        pk=str(row.pk),
        title=policy.title,
        state=state_of(row, tries=tries),
        since=row.enqueued_at,
        tries=tries,
        tries_left=max(policy.tries - tries, 0),
        next_at=row.run_after if waits and row.run_after != get_date_max() else None,
        problem=last_line(row.traceback),
        trace=row.traceback,
    )


def state_of(row: Row, *, tries: int) -> str:
    """Return what a task does in a word."""
    if row.status == TaskResultStatus.FAILED:
        return "failed"
    if row.status == TaskResultStatus.RUNNING:
        return "running"
    return "waits to be tried again" if tries else "waits"


def last_line(trace: str) -> str:
    """Return what an error said, without the class that said it."""
    lines = trace.strip().splitlines()
    return lines[-1].partition(": ")[2] or lines[-1] if lines else ""
