"""One action, one transaction, and one more try when SQLite is busy."""

from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from django.db import OperationalError, connection, transaction

P = ParamSpec("P")
R = TypeVar("R")


def one_transaction(action: Callable[P, R]) -> Callable[P, R]:
    """Run an action in one transaction; inside another it joins that one.

    SQLite waits up to its busy timeout for the write lock. If that runs out,
    or PostgreSQL breaks a deadlock, nothing was written and the action is
    tried once more.
    """

    @wraps(action)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        if connection.in_atomic_block:
            return action(*args, **kwargs)
        try:
            with transaction.atomic():
                return action(*args, **kwargs)
        except OperationalError as error:
            if not is_passing(error):
                raise
        with transaction.atomic():
            return action(*args, **kwargs)

    return run


def is_passing(error: OperationalError) -> bool:
    """Tell whether the database only said that it was busy just now."""
    text = str(error)
    return "locked" in text or "deadlock" in text
