"""One action, one transaction, and another try when the database was only busy."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import wraps
from typing import ParamSpec, TypeVar

from django.db import IntegrityError, OperationalError, connection, transaction

from fraginv.base import chance

P = ParamSpec("P")
R = TypeVar("R")

# Seconds to wait, at least, before each further try; at most twice as long.
PAUSES = (0.05, 0.25)

Undoing = list[Callable[[], None]]
undoing: ContextVar[Undoing | None] = ContextVar("undoing", default=None)


def one_transaction(action: Callable[P, R]) -> Callable[P, R]:
    """Run an action in one transaction; inside another it joins that one.

    SQLite waits up to its busy timeout for the write lock. If that runs out,
    or PostgreSQL breaks a deadlock, nothing was written and the action is
    tried again after a short pause of chance length: without one, it could
    take back the very lock that the other side was just given. An action that
    wrote the same row as another at the same moment looks again too, and finds
    that row.
    """
    careful = with_undoing(action)

    def attempt(*args: P.args, **kwargs: P.kwargs) -> R:
        with transaction.atomic():
            return careful(*args, **kwargs)

    @wraps(action)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        if connection.in_atomic_block:
            return careful(*args, **kwargs)
        for pause in PAUSES:
            try:
                return attempt(*args, **kwargs)
            except (OperationalError, IntegrityError) as error:
                if not is_passing(error):
                    raise
            time.sleep(chance.between(pause, 2 * pause))
        return attempt(*args, **kwargs)

    return run


@contextmanager
def one_snapshot() -> Iterator[None]:
    """Read everything inside as it is at one moment, whatever others write meanwhile.

    Nobody waits for it: on SQLite the transaction is deferred, so that it takes
    no write lock. Inside a transaction it reads as that one does.
    """
    if connection.in_atomic_block:
        yield
        return
    if connection.vendor == "postgresql":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def with_undoing(action: Callable[P, R]) -> Callable[P, R]:
    """Let an action leave with ``undo_on_failure`` what must be undone if it fails.

    What an inner action left passes to the outer one when the inner succeeds.
    The undoing runs while the transaction is still open, so that nobody who
    waits for its locks sees what is about to go.
    """

    @wraps(action)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        outer = undoing.get()
        mine: Undoing = []
        token = undoing.set(mine)
        try:
            result = action(*args, **kwargs)
        except BaseException:
            for undo in reversed(mine):
                undo()
            raise
        finally:
            undoing.reset(token)
        if outer is not None:
            outer.extend(mine)
        return result

    return run


def undo_on_failure(undo: Callable[[], None]) -> None:
    """Call ``undo`` if the action that runs now, or one around it, fails.

    For what a database cannot take back, such as a file that was written.
    """
    waiting = undoing.get()
    if waiting is None:
        raise RuntimeError("undo_on_failure is for code inside an action.")
    waiting.append(undo)


def is_passing(error: OperationalError | IntegrityError) -> bool:
    """Tell whether somebody else was only in the way just now.

    SQLite says ``database is locked``; it has no code for it.

    Source: PostgreSQL documentation, appendix A (40001 serialization failure,
    40P01 deadlock detected, 23505 unique violation).
    """
    state = getattr(error.__cause__, "sqlstate", None)
    return state in {"40001", "40P01", "23505"} if state else "locked" in str(error)
