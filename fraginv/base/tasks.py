"""Work that can wait: written down with what asked for it, done by a worker afterwards."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import timedelta
from typing import ParamSpec, TypeVar

from django.utils.module_loading import import_string
from django_tasks import task
from django_tasks.base import Task

from fraginv.base import clock

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class Policy:
    """What people call a task, and how often it is tried before they are asked."""

    title: str
    tries: int = 5


POLICIES: dict[str, Policy] = {}


def later(*, title: str, tries: int = 5) -> Callable[[Callable[P, R]], Task[P, R]]:
    """Make a function a task that a worker does.

    Its arguments are named and can be written as JSON: ids, never rows. A task
    that fails is tried again after a growing pause. It may be run twice, when a
    worker is lost between doing it and saying so: write it so that the second
    time does no harm.
    Args: ``title`` is what people read of it, such as "Mail an invitation".
    """

    def make(function: Callable[P, R]) -> Task[P, R]:
        made: Task[P, R] = task()(function)
        POLICIES[made.module_path] = Policy(title, tries)
        return made

    return make


def run_later(
    what: Task[P, R], *, pause: timedelta | None = None, **arguments: str | int | bool | None
) -> None:
    """Write a task down in the transaction that runs now: it exists exactly if that commits.

    Args: ``pause`` before it is done.
    Queries: 1.
    """
    asked = what if pause is None else what.using(run_after=clock.now() + pause)
    asked.get_backend().enqueue(asked, (), arguments)


def policy_of(path: str) -> Policy:
    """Return the policy of a task; one that no longer exists is called by its path, and tried once.

    A process learns a policy when it imports the task's module, which this does.
    """
    if path not in POLICIES:
        with suppress(ImportError):
            import_string(path)
    return POLICIES.get(path, Policy(path.rpartition(".")[2].replace("_", " ").capitalize(), 1))
