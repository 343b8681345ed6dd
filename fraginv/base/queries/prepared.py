"""Questions that are worked out once and asked often, such as what a scan asks."""

from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from typing import Any, Final, Generic, TypeVar

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper

R = TypeVar("R")
Value = str | int | date
KEPT: Final = "fraginv_prepared"  # where a connection keeps its words, as long as it lives

# Values that no row has, by their type; one for each place.
STAND_INS: Final[dict[type, Callable[[int], Value]]] = {
    str: lambda place: f"\x1a{place}",
    int: lambda place: 2_147_480_000 + place,
    date: lambda place: date(1, 1, 1 + place),
    datetime: lambda place: datetime(1, 1, 2, place, tzinfo=UTC),
}


class Prepared(Generic[R]):
    """A queryset whose SQL is worked out once for each connection.

    To choose columns and joins takes Django three times as long as the database takes
    to find one row by its key. The words of such a question do not change, only its
    values do; they are put into the words that were kept.

    Args: ``ask`` makes the queryset from values; ``kinds`` are their types: str, int, date
        or datetime. Each value must come to stand in the SQL as it is, and fit its column.
    """

    def __init__(self, ask: Callable[..., Any], *kinds: type) -> None:
        self.ask = ask
        self.kinds = kinds

    def answer(self, *values: Value) -> list[R]:
        """Return the rows for some values.

        Queries: 1.
        """
        connection = connections[DEFAULT_DB_ALIAS]
        kept: dict[Prepared[Any], Words] = vars(connection).setdefault(KEPT, {})
        words = kept.get(self)
        if words is None:
            words = kept[self] = Words(self.ask, self.kinds, connection)
        return words.answer(values)

    def first(self, *values: Value) -> R | None:
        """Return the first row for some values, or None where there is none.

        Queries: 1.
        """
        return next(iter(self.answer(*values)), None)


class Words:
    """What a connection keeps of a question: its SQL, and where each value stands in it.

    Raises: ValueError when a value does not come to stand in the SQL.
    """

    def __init__(
        self, ask: Callable[..., Any], kinds: Sequence[type], connection: BaseDatabaseWrapper
    ) -> None:
        stand_ins = [STAND_INS[kind](place) for place, kind in enumerate(kinds)]
        self.adapt = [adapter(kind, connection) for kind in kinds]
        self.queryset = ask(*stand_ins)
        compiler = self.queryset.query.get_compiler(connection=connection)
        self.sql, params = compiler.as_sql()
        sent = [adapt(value) for adapt, value in zip(self.adapt, stand_ins, strict=True)]
        missing = [place for place, value in enumerate(sent) if value not in params]
        if missing:
            raise ValueError(f"Values {missing} do not stand in the SQL as they are: {self.sql}")
        self.places = [sent.index(param) if param in sent else None for param in params]
        self.params = list(params)
        # From now on the question is not worked out again: its compiler says what was kept.
        compiler.as_sql = self.as_sql
        self.queryset.query.get_compiler = lambda *args, **kwargs: compiler

    def answer(self, values: Sequence[Value]) -> list[Any]:
        """Ask with values; a connection belongs to one thread, so none can come between."""
        sent = [adapt(value) for adapt, value in zip(self.adapt, values, strict=True)]
        self.params = [
            param if place is None else sent[place]
            for param, place in zip(self.params, self.places, strict=True)
        ]
        return list(self.queryset.all())

    def as_sql(self, *args: Any, **kwargs: Any) -> tuple[str, tuple[Any, ...]]:
        """Return what was kept, with the values of this time."""
        return self.sql, tuple(self.params)


def adapter(kind: type, connection: BaseDatabaseWrapper) -> Callable[[Any], Any]:
    """Return how an engine takes values of a type."""
    if kind is datetime:
        return connection.ops.adapt_datetimefield_value
    return connection.ops.adapt_datefield_value if kind is date else lambda value: value
