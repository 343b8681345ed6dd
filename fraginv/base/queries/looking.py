"""Pages of lists that are narrowed by anything at once, at a cost that does not grow.

Some conditions are answered by an index, others only by looking at a row. A page asks
first how many rows each index would give, up to a bound. Is one of them below it, all
of its rows are looked at, and sorted. If none is, the list is followed in its order
from where the page begins, as far as the bound; where that was not to the end, the page
says so, and the next one goes on from there.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from django.db import connection
from django.db.models import BooleanField, F, Func, Model, OrderBy, Q, QuerySet, Subquery
from django.db.models.expressions import Combinable
from django.db.models.sql.compiler import SQLCompiler

from fraginv.base.models import Organisation
from fraginv.base.queries.portions import Portion, beyond, place_of

M = TypeVar("M", bound=Model)
BOUND: Final = 2_000


class Beside(Func):
    """A column by which no index is chosen.

    SQLite does not know how many rows a value has, and might take an index that gives
    many for one that gives few. PostgreSQL knows, and is left to choose.
    Source: SQLite documentation, "The SQLite Query Optimizer", section on unary plus.
    """

    arity = 1
    template = "%(expressions)s"

    def as_sqlite(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Any:
        """Write a plus before the column, which changes nothing."""
        return self.as_sql(compiler, connection, template="+%(expressions)s", **context)


class Unsorted(Func):
    """A number or day by which rows are sorted anew, on PostgreSQL, whatever index has them.

    It would follow the index in the hope of finding enough rows soon.
    """

    arity = 1
    template = "%(expressions)s"

    def as_postgresql(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Any:
        """Add nothing to the column, which no index has."""
        return self.as_sql(compiler, connection, template="(%(expressions)s + 0)", **context)


class Common(Func):
    """A condition that many rows meet, so that SQLite begins with another one if it can.

    An index of such rows alone, in the order that is asked for, is still open to it.
    Source: SQLite documentation, "Built-In Scalar SQL Functions", likely.
    """

    arity = 1
    output_field = BooleanField()
    template = "%(expressions)s"

    def as_sqlite(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Any:
        """Say that it likely holds."""
        return self.as_sql(compiler, connection, template="likely(%(expressions)s)", **context)


class OneOf(Func):
    """Whether a key is one of those that a subquery gives.

    PostgreSQL works the subquery out first, and looks at these rows alone: as an array it
    tells nothing of their number, so that no other way to them seems shorter.
    """

    arity = 2
    output_field = BooleanField()
    template = "%(expressions)s"
    arg_joiner = " IN "

    def as_postgresql(self, compiler: SQLCompiler, connection: Any, **context: Any) -> Any:
        """Compare with an array."""
        array = {"template": "%(expressions)s)", "arg_joiner": " = ANY(ARRAY"}
        return self.as_sql(compiler, connection, **array, **context)


@dataclass(frozen=True)
class Part:
    """One condition of a list: ``beside`` others, and as ``lead`` where an index answers it.

    ``in_order`` is whether that index has its rows in the list's order. A lead that is
    not ``exact`` gives more rows than the condition holds for.
    """

    beside: Q
    lead: Q | None = None
    in_order: bool = False
    exact: bool = True


@dataclass(frozen=True)
class Looked(Portion[M]):
    """One page of a narrowed list; ``partly`` where it ends before all was looked at."""

    partly: bool = False


def look(
    rows: QuerySet[M],
    *,
    parts: Sequence[Part],
    order: Sequence[str],
    size: int,
    after: int | None,
    bound: int = BOUND,
) -> Looked[M]:
    """Return the rows for which all parts hold that follow one row of a list in its order.

    Args: ``rows`` with what they bring along, unfiltered; ``parts`` the most telling
        first, the last with an index in the list's order; ``order`` all upwards or all
        downwards, the key last; ``after`` the key of the last row on the page before.
    Raises: NotFound where that row is not there.
    Queries: 1 for one exact part, else 2; 1 more from the second page on where the order has
        more than the key; and those that ``rows`` fetches along.
    """
    place = start_of(rows, order=order, after=after)
    leading, floor = parts[-1], None
    if len(parts) > 1 or not leading.exact:
        ends = ends_of(rows, parts=parts, order=order, place=place, bound=bound)
        few = [part for part, end in ends if end is None]
        leading = few[0] if few else next(part for part, _ in ends if part.in_order)
        floor = None if few else next(end for part, end in ends if part.in_order)
    reach = Q() if place is None else beyond(order, place=place)
    if floor is not None:
        reach &= up_to(order, floor)
    by_key = floor is not None and len(order) == 1 and connection.vendor == "postgresql"
    if by_key:
        keys = keyed(rows, (leading.lead or Q()) & reach, order)
        wanted = condition(parts, leading=leading, lead=keys)
    else:
        wanted = condition(parts, leading=leading) & reach
    ordered = rows.filter(wanted).order_by(*(order if leading.in_order else anew(order)))
    return page_of(list(ordered[: size + 1]), size=size, after=after, floor=floor)


def page_of(
    found: list[M], *, size: int, after: int | None, floor: Sequence[Any] | None
) -> Looked[M]:
    """Return a page of the rows that were found; one too many shows that there are more."""
    shown = found[:size]
    if len(found) > size:
        return Looked(shown, shown[-1].pk, after is None)
    if floor is not None:
        return Looked(shown, floor[-1], after is None, partly=True)
    return Looked(shown, None, after is None)


def start_of(
    rows: QuerySet[M], *, order: Sequence[str], after: int | None
) -> tuple[Any, ...] | None:
    """Return the place after which a page begins, None for the first page.

    Raises: NotFound.
    Queries: 1 where the order has more than the key.
    """
    if after is None:
        return None
    return (after,) if len(order) == 1 else place_of(rows, order=order, key=after)


def ends_of(
    rows: QuerySet[M],
    *,
    parts: Sequence[Part],
    order: Sequence[str],
    place: Sequence[Any] | None,
    bound: int,
) -> list[tuple[Part, tuple[Any, ...] | None]]:
    """Return each part that an index answers, with its row at the bound, None where it has less.

    Of a part that is not in the list's order the row says only that there are as many.
    Queries: 1.
    """
    leading = [part for part in parts if part.lead is not None]
    asked: dict[str, Subquery] = {}
    for number, part in enumerate(leading):
        found = rows.model._default_manager.filter(part.lead)
        if place is not None:
            found = found.filter(beyond(order, place=place))
        found = found.order_by(*(order if part.in_order else ()))
        for column in order:
            name = column.removeprefix("-")
            asked[f"part{number}_{name}"] = Subquery(found.values(name)[bound : bound + 1])
    width = len(order)
    answer = Organisation.objects.order_by().values_list(*asked.values())[:1].get()
    cut = [tuple(answer[at * width : (at + 1) * width]) for at in range(len(leading))]
    return [
        (part, end if end[-1] is not None else None) for part, end in zip(leading, cut, strict=True)
    ]


def keyed(rows: QuerySet[M], lead: Q, order: Sequence[str]) -> Q:
    """Return the condition that a row is one of those that an index gives, by their keys.

    PostgreSQL reads the keys out of that index alone. Left to find the rows itself, it may
    follow another index over many more: what was sold lies behind all that lives.
    """
    keys = rows.model._default_manager.filter(lead).order_by(*order).values("pk")
    return Q(OneOf(F("pk"), Subquery(keys)))


def condition(parts: Sequence[Part], *, leading: Part, lead: Q | None = None) -> Q:
    """Return the condition that all parts hold, one of them as an index answers it.

    Args: ``lead`` stands in for what the leading part says itself.
    """
    wanted = lead or leading.lead or Q()
    for part in parts:
        if part is not leading or not part.exact:
            wanted &= part.beside
    return wanted


def up_to(order: Sequence[str], place: Sequence[Any]) -> Q:
    """Return the condition that a row comes at a place or before it.

    The first column is bounded by itself, so that an index can end there.
    """
    side = "gt" if order[0].startswith("-") else "lt"
    first, value = order[0].removeprefix("-"), place[0]
    if len(order) == 1:
        return Q(**{f"{first}__{side}e": value})
    before = Q(**{f"{first}__{side}": value})
    return Q(**{f"{first}__{side}e": value}) & (before | up_to(order[1:], place[1:]))


def anew(order: Sequence[str]) -> list[str | Combinable | OrderBy]:
    """Return an order in which rows are sorted whatever index there is."""
    if connection.vendor != "postgresql":
        return list(order)
    return [
        OrderBy(Unsorted(F(column.removeprefix("-"))), descending=column.startswith("-"))
        for column in order
    ]


def everything(parts: Sequence[Part]) -> Q:
    """Return the condition that all parts hold, followed in the list's own order."""
    return condition(parts, leading=parts[-1])
