"""One action, one transaction, and another try when the database was only busy."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Barrier, get_ident
from typing import Any

import psycopg
import pytest
from django.db import DatabaseError, IntegrityError, OperationalError, connection, transaction
from django.db.models import F

from fraginv.base.errors import InputError
from fraginv.base.models import NumberSeries, Organisation
from fraginv.base.transactions import is_passing, one_transaction, undo_on_failure
from tests.together import together

Attempts = list[str]


class Busy:
    """A second SQLite connection that holds the write lock for some tries of the first."""

    def __init__(self, *, tries: int) -> None:
        self.left = tries
        self.begun: Attempts = []
        self.holder = sqlite3.connect(
            str(connection.settings_dict["NAME"]), isolation_level=None, timeout=10
        )

    def __call__(
        self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any
    ) -> Any:
        """Let a BEGIN fail at the lock as often as was said, then free it."""
        if not sql.startswith("BEGIN"):
            return execute(sql, params, many, context)
        self.begun.append(sql)
        if not self.left and self.holder.in_transaction:
            self.holder.execute("ROLLBACK")
        self.left -= 1
        return execute(sql, params, many, context)


@contextmanager
def locked(*, tries: int) -> Iterator[Busy]:
    """Hold SQLite's write lock while an action begins that many times."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 20")
    busy = Busy(tries=tries)
    busy.holder.execute("BEGIN IMMEDIATE")
    try:
        with connection.execute_wrapper(busy):
            yield busy
    finally:
        busy.holder.close()
        connection.close()


def count_up(*series: str) -> None:
    """Add one to the last number of each series, in that order."""
    for one in series:
        NumberSeries.objects.filter(series=one).update(last=F("last") + 1)


def add_series() -> None:
    for series in ("A", "B"):
        NumberSeries.objects.create(series=series, year=2026)


def lasts() -> list[int]:
    return list(NumberSeries.objects.order_by("series").values_list("last", flat=True))


def meet_a_lock() -> tuple[int, int]:
    """Count two series up behind a lock that is gone at the second try.

    Returns: how often the action was begun and how often it got through.
    """
    runs: Attempts = []

    @one_transaction
    def both() -> None:
        runs.append("run")
        count_up("A", "B")

    with locked(tries=1) as busy:
        both()
        both()
    return len(busy.begun) - 1, len(runs)


def meet_a_deadlock() -> tuple[int, int]:
    """Count two series up in two threads that wait for each other in their first try.

    Returns: how often the actions were begun less one, and how often they got through.
    """
    meeting = Barrier(2)
    met: set[int] = set()
    begun: Attempts = []
    done: Attempts = []

    @one_transaction
    def both(first: str, *, then: str) -> None:
        begun.append(first)
        count_up(first)
        if get_ident() not in met:
            met.add(get_ident())
            meeting.wait(timeout=20)
        count_up(then)
        done.append(first)

    together(lambda pair: both(pair[0], then=pair[1]), on=[("A", "B"), ("B", "A")])
    return len(begun) - 1, len(done)


BUSY: dict[str, Callable[[], tuple[int, int]]] = {
    "sqlite": meet_a_lock,
    "postgresql": meet_a_deadlock,
}


def test_an_action_is_tried_again_when_the_database_was_busy(transactional_db: None) -> None:
    add_series()
    begun, done = BUSY[connection.vendor]()
    assert begun >= 2
    assert done == 2
    assert lasts() == [2, 2]


def stay_locked() -> int:
    """Meet a lock that does not go; return how often the action was begun."""
    with locked(tries=9) as busy, pytest.raises(OperationalError, match="locked"):
        one_transaction(count_up)("A")
    return len(busy.begun)


def stay_deadlocked() -> int:
    """Meet a deadlock in every try; return how often the action was begun."""
    begun: Attempts = []

    @one_transaction
    def meet() -> None:
        begun.append("begun")
        count_up("A")
        with connection.cursor() as cursor:
            # What the server itself raises when it breaks a deadlock.
            cursor.execute("DO $$ BEGIN RAISE 'deadlock detected' USING ERRCODE = '40P01'; END $$")

    with pytest.raises(OperationalError, match="deadlock"):
        meet()
    return len(begun)


STUCK: dict[str, Callable[[], int]] = {"sqlite": stay_locked, "postgresql": stay_deadlocked}


def test_it_is_given_up_after_longer_and_longer_pauses(
    transactional_db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    add_series()
    slept: list[float] = []
    monkeypatch.setattr("fraginv.base.transactions.time.sleep", slept.append)
    assert STUCK[connection.vendor]() == 3
    assert lasts() == [0, 0]
    first, second = slept
    assert 0.05 <= first <= 0.1
    assert 0.25 <= second <= 0.5


@pytest.mark.parametrize("kind", ["refusal", "constraint", "statement"])
def test_any_other_error_ends_it_at_once_and_takes_everything_back(
    transactional_db: None, kind: str
) -> None:
    add_series()
    begun: Attempts = []

    @one_transaction
    def fail() -> None:
        begun.append(kind)
        count_up("A")
        if kind == "refusal":
            raise InputError("no such thing")
        if kind == "constraint":
            NumberSeries.objects.create(series="C", year=2026, last=-1)
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM no_such_table")

    errors = {"refusal": InputError, "constraint": IntegrityError, "statement": DatabaseError}
    with pytest.raises(errors[kind]):
        fail()
    assert begun == [kind]
    assert lasts() == [0, 0]


def test_a_try_that_failed_leaves_nothing_to_undo_twice(transactional_db: None) -> None:
    add_series()
    done: list[str] = []
    begun: Attempts = []

    @one_transaction
    def write() -> None:
        begun.append("begun")
        done.append("file")
        undo_on_failure(done.clear)
        count_up("A")
        if len(begun) == 1:
            raise OperationalError("database is locked")

    write()
    assert len(begun) == 2
    assert (done, lasts()) == (["file"], [1, 0])


def test_an_action_inside_another_joins_it(transactional_db: None) -> None:
    add_series()
    inner = one_transaction(count_up)

    @one_transaction
    def outer() -> None:
        inner("A")
        raise InputError("the outer one fails")

    with pytest.raises(InputError):
        outer()
    assert lasts() == [0, 0]
    with transaction.atomic():
        inner("A", "B")
        transaction.set_rollback(True)
    assert lasts() == [0, 0]


def test_inside_another_a_busy_database_is_left_to_the_outer_one(transactional_db: None) -> None:
    begun: Attempts = []

    @one_transaction
    def inner() -> None:
        begun.append("inner")
        raise OperationalError("database is locked")

    @one_transaction
    def outer() -> None:
        begun.append("outer")
        inner()

    with pytest.raises(OperationalError, match="locked"):
        outer()
    assert begun == ["outer", "inner"] * 3


@pytest.mark.parametrize(
    ("text", "passing"),
    [
        ("database is locked", True),
        ("database table is locked", True),
        ("disk I/O error", False),
        ("could not connect to server", False),
    ],
)
def test_what_passes_is_told_from_what_does_not(text: str, passing: bool) -> None:
    assert is_passing(OperationalError(text)) is passing


def test_an_action_keeps_its_name_and_its_answer(db: None) -> None:
    @one_transaction
    def found(name: str) -> str:
        """Say a name."""
        return name

    assert (found("a"), found.__name__, found.__doc__) == ("a", "found", "Say a name.")
    assert not Organisation.objects.exists()


def test_undoing_belongs_inside_an_action() -> None:
    with pytest.raises(RuntimeError, match="inside an action"):
        undo_on_failure(lambda: None)


@pytest.mark.parametrize(
    ("refusal", "passing"),
    [
        (psycopg.errors.DeadlockDetected, True),
        (psycopg.errors.SerializationFailure, True),
        (psycopg.errors.UniqueViolation, True),
        (psycopg.errors.CheckViolation, False),
        (psycopg.errors.AdminShutdown, False),
    ],
)
def test_postgresql_says_by_its_code_what_passes(
    refusal: type[psycopg.Error], passing: bool
) -> None:
    """Source: PostgreSQL documentation, appendix A, error codes."""
    error = OperationalError("in whatever language the server speaks")
    error.__cause__ = refusal()
    assert is_passing(error) is passing
