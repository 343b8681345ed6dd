"""One action, one transaction, and another try when the database was only busy."""

import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from functools import wraps
from typing import ParamSpec, TypeVar

from django.db import IntegrityError, OperationalError, connection, transaction

from fraginv.base import chance

P = ParamSpec("P")
R = TypeVar("R")

# Seconds to wait, at least, before each further try; at most twice as long.
PAUSES = (0.05, 0.25)

Sums = Counter[tuple[int, str]]


@dataclass
class Left:
    """What actions left for the end: what to undo if they fail, what to add up if they do not."""

    undo: list[Callable[[], None]] = field(default_factory=list)
    last: dict[Callable[[Sums], None], Sums] = field(default_factory=dict)

    def add(self, write: Callable[[Sums], None], sums: Sums) -> None:
        """Add to what is written last."""
        known = self.last.setdefault(write, Counter())
        for key, amount in sums.items():
            known[key] += amount


left: ContextVar[Left | None] = ContextVar("left", default=None)


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
    """Let an action leave what must be undone if it fails, and sums to write when it ends.

    What an inner action left passes to the outer one when the inner succeeds.
    Both happen while the transaction is still open: nobody who waits for its
    locks sees what is about to go, and sums are part of it.
    """

    @wraps(action)
    def run(*args: P.args, **kwargs: P.kwargs) -> R:
        outer = left.get()
        mine = Left()
        token = left.set(mine)
        try:
            result = action(*args, **kwargs)
            if outer is None:
                for write, sums in mine.last.items():
                    write(sums)
        except BaseException:
            for undo in reversed(mine.undo):
                undo()
            raise
        finally:
            left.reset(token)
        if outer is not None:
            outer.undo.extend(mine.undo)
            for write, sums in mine.last.items():
                outer.add(write, sums)
        return result

    return run


def undo_on_failure(undo: Callable[[], None]) -> None:
    """Call ``undo`` if the action that runs now, or one around it, fails.

    For what a database cannot take back, such as a file that was written.
    """
    left_now("undo_on_failure").undo.append(undo)


def add_last(write: Callable[[Sums], None], sums: Sums) -> None:
    """Call ``write`` once, with all sums that were left for it, when the outermost action ends.

    For rows that everybody changes: whoever locks them last cannot wait in a circle.
    """
    left_now("add_last").add(write, sums)


def take_back_if(dry_run: bool) -> None:
    """Let all that was written in the inner block go again, where it was only a trial."""
    if dry_run:
        left_now("take_back_if").last.clear()
        transaction.set_rollback(True)


@contextmanager
def trial(dry_run: bool) -> Iterator[None]:
    """Take back all that is written inside where it is only a trial, else let it be.

    Queries: 2 for a trial, else none.
    """
    if not dry_run:
        yield
        return
    with transaction.atomic():
        yield
        take_back_if(dry_run)


def left_now(name: str) -> Left:
    """Return what the action that runs now has left so far."""
    waiting = left.get()
    if waiting is None:
        raise RuntimeError(f"{name} is for code inside an action.")
    return waiting


def is_passing(error: OperationalError | IntegrityError) -> bool:
    """Tell whether somebody else was only in the way just now.

    SQLite says ``database is locked``; it has no code for it.

    Source: PostgreSQL documentation, appendix A (40001 serialization failure,
    40P01 deadlock detected, 23505 unique violation).
    """
    state = getattr(error.__cause__, "sqlstate", None)
    return state in {"40001", "40P01", "23505"} if state else "locked" in str(error)
