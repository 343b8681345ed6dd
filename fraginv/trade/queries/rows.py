"""Rows of the trade as ``verify`` reads them."""

from typing import Any

from django.db.models import Model, QuerySet, Sum

from fraginv.trade.models import Credit, Payment, Sale

PAPERS: tuple[type[Sale] | type[Payment] | type[Credit], ...] = (Sale, Payment, Credit)


def sums_by(rows: QuerySet[Any], *, key: str, column: str) -> dict[int, int]:
    """Add up a column for each value of a key.

    Queries: 1.
    """
    return dict(rows.order_by().values_list(key).annotate(Sum(column)))


def rows_of(model: type[Model]) -> QuerySet[Any]:
    """Return all papers of one kind in the order of their numbers."""
    return model._default_manager.order_by("series", "year", "number")


def word_of(model: type[Model]) -> str:
    """Return how a kind of paper is named."""
    return str(model._meta.verbose_name)
