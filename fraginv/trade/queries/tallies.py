"""Adding the trade's papers up from end to end."""

from collections.abc import Callable, Iterator
from typing import Any

from django.apps import apps
from django.db.models import Model, QuerySet, Sum

from fraginv.base.queries.tallies import tally_differences
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tallies import Tallies
from fraginv.trade.rules.tallies import KEPT, UNDER, Summed

Models = Callable[[str, str], type[Model]]


def trade_tallies(get_model: Models = apps.get_model, *, month: int | None = None) -> Tallies:
    """Return every month's sums, or those of one, counted from the rows.

    Args: where models come from, which a migration gives in the form they had then.
    Queries: 6.
    """
    found = Tallies()
    for summed in KEPT:
        rows = get_model("trade", summed.model)._default_manager.filter(**summed.where)
        found.update(counted(summed, rows if month is None else rows.filter(month=month)))
    return found


def counted(summed: Summed, rows: QuerySet[Any]) -> Tallies:
    """Return the sums of rows of one kind.

    Queries: 1.
    """
    columns = set(summed.columns.values())
    grouped = rows.order_by().values("month", *summed.by)
    sums = grouped.annotate(**{f"all_{column}": Sum(column) for column in columns})
    return summed.tallies(
        {**row, **{column: row[f"all_{column}"] for column in columns}} for row in sums.iterator()
    )


def kept_differences() -> Iterator[Difference]:
    """Yield the months' sums that are not what the papers come to.

    Queries: 7.
    """
    yield from tally_differences(trade_tallies(), under=UNDER)
