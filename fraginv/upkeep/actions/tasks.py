"""Taking tasks, giving them back, and what people decide about those that failed."""

import uuid
from datetime import timedelta
from typing import Any, Final, TypeAlias

from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from fraginv.base import chance, clock
from fraginv.base.errors import Conflict
from fraginv.base.rules.timetable import pause_before
from fraginv.base.tasks import policy_of
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.queries.tasks import lost_tasks, ready_tasks, tries_too_far

Row: TypeAlias = DBTaskResult[..., Any]
LOST: Final = "The worker that did it stopped without a word."
KEPT: Final = timedelta(days=30)


def take_task(worker: str) -> Row | None:
    """Return the next task, taken so that no other worker does it; None where nothing is due.

    Queries: 1 where nothing is due, which takes no lock; else 3.
    """
    return claim_task(worker) if ready_tasks().exists() else None


@one_transaction
def claim_task(worker: str) -> Row | None:
    """Take the first task that is due and that nobody else is taking."""
    row = ready_tasks().select_for_update(skip_locked=True).first()
    if row is not None:
        row.claim(worker)
    return row


@one_transaction
def give_back(task_id: uuid.UUID, *, kind: str, problem: str) -> bool:
    """Put a task that failed back for another try, or leave it failed after the last one.

    Args: ``kind`` is the error's class, ``problem`` what it said.
    Returns: whether it is left failed for people to look at; one that is no longer being
        done is let alone.
    """
    row = running(task_id)
    if row is None:
        return False
    attempt, tries = len(row.worker_ids), policy_of(row.task_path).tries
    is_over = attempt >= tries
    row.exception_class_path, row.traceback = kind, problem
    row.finished_at = clock.now() if is_over else None
    row.status = TaskResultStatus.FAILED if is_over else TaskResultStatus.READY
    pause = pause_before(attempt + 1)
    row.run_after = clock.now() + pause * chance.between(1.0, 1.2)
    row.save(
        update_fields=["status", "finished_at", "exception_class_path", "traceback", "run_after"]
    )
    return is_over


def give_back_lost(worker: str) -> list[tuple[str, bool]]:
    """Put back every task whose worker has given no sign of life for a while.

    Args: ``worker`` asks, and does nothing itself at this moment.
    Returns: the path of each, and whether it is left failed.
    Queries: 1, and 3 for each.
    """
    return [
        (row.task_path, give_back(row.pk, kind="lost", problem=LOST)) for row in lost_tasks(worker)
    ]


@one_transaction
def hand_back(task_id: uuid.UUID) -> None:
    """Put a task that was broken off on purpose back at once, as if it had not been taken."""
    row = running(task_id)
    if row is not None:
        row.status, row.worker_ids = TaskResultStatus.READY, row.worker_ids[:-1]
        row.save(update_fields=["status", "worker_ids"])


def running(task_id: uuid.UUID) -> Row | None:
    """Return a task, locked, if it is being done at this moment."""
    rows = DBTaskResult.objects.select_for_update()
    return rows.filter(pk=task_id, status=TaskResultStatus.RUNNING).first()


def pull_in_tries() -> int:
    """Let what waits for a moment that lies too far ahead be tried now; return how much it was.

    Queries: 1 that takes no lock, and 1 more where there is any.
    """
    return tries_too_far().update(run_after=clock.now()) if tries_too_far().exists() else 0


@one_transaction
def try_again(task_id: uuid.UUID) -> None:
    """Let a task that failed be done anew, with all its tries.

    Raises: Conflict where it is no longer there or did not fail.
    """
    again = {"status": TaskResultStatus.READY, "run_after": clock.now(), "worker_ids": []}
    if not DBTaskResult.objects.filter(pk=task_id, status=TaskResultStatus.FAILED).update(**again):
        raise Conflict("This is not waiting for you any more. Look at the list again.")


@one_transaction
def put_away(task_id: uuid.UUID) -> None:
    """Give a task that failed up for good.

    Raises: Conflict where it is no longer there or did not fail.
    """
    if not DBTaskResult.objects.filter(pk=task_id, status=TaskResultStatus.FAILED).delete()[0]:
        raise Conflict("This is not waiting for you any more. Look at the list again.")


@one_transaction
def prune_tasks() -> int:
    """Forget what was done more than a month ago; return how many that were."""
    old = DBTaskResult.objects.filter(
        status=TaskResultStatus.SUCCESSFUL, finished_at__lt=clock.now() - KEPT
    )
    return int(old.delete()[0])
