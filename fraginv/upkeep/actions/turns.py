"""Writing down what recurs when it is due, once, however many workers look."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django_tasks.base import Task

from fraginv.base import clock
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.timetable import When, is_too_far
from fraginv.base.tasks import run_later
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.models import Turn


@dataclass(frozen=True)
class Job:
    """One line of the timetable."""

    name: str
    when: When
    task: Task[Any, Any]


def take_turns(jobs: Iterable[Job]) -> list[str]:
    """Write down every job that is due as a task; return their names.

    A job that was due several times while nobody worked is done once. A turn that
    lies further ahead than its period allows, because the clock was set back, is
    pulled in: the job is then never silent for longer than its period, and may
    be done a second time for the same day.
    Queries: 2, and 3 for each job that is due.
    """
    zone, now = organisation().zone, clock.now()
    turns = {turn.job: turn for turn in Turn.objects.all()}
    taken = []
    for job in jobs:
        turn = turns.get(job.name)
        if turn is None:
            plan_turn(job, zone=zone)
        elif turn.next_at <= now:
            if take_turn(job, turn=turn, zone=zone):
                taken.append(job.name)
        elif is_too_far(turn.next_at, when=job.when, now=now):
            pull_in(job, turn=turn, zone=zone)
    return taken


@one_transaction
def plan_turn(job: Job, *, zone: str) -> None:
    """Write down when a new job is due for the first time."""
    Turn.objects.get_or_create(
        job=job.name, defaults={"next_at": job.when.after(clock.now(), zone=zone)}
    )


@one_transaction
def take_turn(job: Job, *, turn: Turn, zone: str) -> bool:
    """Move a turn on and write its task down; False where another worker was quicker."""
    now = clock.now()
    moved = Turn.objects.filter(job=job.name, next_at=turn.next_at).update(
        next_at=job.when.after(now, zone=zone), last_at=now
    )
    if moved:
        run_later(job.task)
    return bool(moved)


@one_transaction
def pull_in(job: Job, *, turn: Turn, zone: str) -> None:
    """Bring a turn back to where it can be."""
    Turn.objects.filter(job=job.name, next_at=turn.next_at).update(
        next_at=job.when.after(clock.now(), zone=zone)
    )
