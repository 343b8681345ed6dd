"""Pages of long lists that cost the same however deep they lie."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from django.db.models import Model, Q, QuerySet

from fraginv.base.errors import NotFound

M = TypeVar("M", bound=Model)


@dataclass(frozen=True)
class Portion(Generic[M]):
    """One page of a list; ``after`` leads to the next one, None on the last."""

    rows: list[M]
    after: int | None
    is_first: bool


def portion_of(
    rows: QuerySet[M], *, order: Sequence[str], size: int, after: int | None
) -> Portion[M]:
    """Return the rows that follow one row of a list in its order, as many as a page holds.

    Nothing is counted and nothing skipped over: an index in that order leads to the place.
    Args: ``order`` all upwards or all downwards, the key last; ``after`` the key of the
        last row on the page before.
    Raises: NotFound for a row that is not there.
    Queries: 1, and 1 more from the second page on; and those that ``rows`` fetches along.
    """
    placed = rows.order_by(*order)
    if after is not None:
        placed = placed.filter(beyond(order, place=place_of(rows, order=order, key=after)))
    found = list(placed[: size + 1])
    more = len(found) > size
    return Portion(found[:size], found[size - 1].pk if more else None, after is None)


def place_of(rows: QuerySet[M], *, order: Sequence[str], key: int) -> tuple[Any, ...]:
    """Return what a row has in the columns of an order.

    Raises: NotFound.
    Queries: 1.
    """
    columns = [column.removeprefix("-") for column in order]
    place: tuple[Any, ...] | None = (
        rows.model._default_manager.filter(pk=key).values_list(*columns).first()
    )
    if place is None:
        raise NotFound("This page of the list is not there. Begin with the first.")
    return place


def beyond(order: Sequence[str], *, place: Sequence[Any]) -> Q:
    """Return the condition that a row comes after a place.

    The first column is bounded by itself, so that an index can begin there.
    """
    side = "lt" if order[0].startswith("-") else "gt"
    first, value = order[0].removeprefix("-"), place[0]
    further = Q(**{f"{first}__{side}": value})
    if len(order) == 1:
        return further
    return Q(**{f"{first}__{side}e": value}) & (further | beyond(order[1:], place=place[1:]))
