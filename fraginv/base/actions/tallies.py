"""Keeping sums in the transactions that change them."""

from collections.abc import Callable, Iterable, Iterator

from django.db import connection
from django.db.models import Model

from fraginv.base.models import Tally
from fraginv.base.rules.tallies import Tallies
from fraginv.base.transactions import add_last, one_transaction

BATCH = 200
ADD = (
    "INSERT INTO base_tally (month, name, amount) VALUES {rows} "
    "ON CONFLICT (month, name) DO UPDATE SET amount = base_tally.amount + excluded.amount"
)


def add_to_tallies(changes: Tallies) -> None:
    """Add to sums when the action that runs now, or the one around it, is about to end.

    Everybody adds to the same few rows, so they are locked last, always in the
    same order, and no longer than it takes to commit.
    """
    add_last(write_tallies, changes)


def write_tallies(changes: Tallies) -> None:
    """Add to sums at once, in the order of their keys.

    Lock: their rows, until the transaction ends.
    Queries: 1 for each 200 that change.
    """
    for rows in in_batches(changes):
        marks = ", ".join(["(%s, %s, %s)"] * len(rows))
        values = [value for row in rows for value in row]
        with connection.cursor() as cursor:
            cursor.execute(ADD.format(rows=marks), values)


def in_batches(changes: Tallies) -> Iterator[list[tuple[int, str, int]]]:
    """Yield what changes in portions, in the order of the keys."""
    rows = [(month, name, amount) for (month, name), amount in sorted(changes.items()) if amount]
    for start in range(0, len(rows), BATCH):
        yield rows[start : start + BATCH]


@one_transaction
def recount_tallies(count: Callable[[], Iterable[Tallies]]) -> None:
    """Add all sums up anew, after something was changed behind their back.

    Args: ``count`` reads what there is, while nobody can add to a sum.
    Lock: the table, until the transaction ends.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("LOCK TABLE base_tally IN EXCLUSIVE MODE")
    Tally.objects.all().delete()
    for counted in count():
        fill_tallies(counted)


def fill_tallies(counted: Tallies, tally: type[Model] = Tally) -> None:
    """Write sums that were added up from what there is, once, where none are kept yet.

    Args: the model, which a migration passes in the form it had then.
    Queries: 1 for each 200.
    """
    for rows in in_batches(counted):
        tally._default_manager.bulk_create(
            [tally(month=month, name=name, amount=amount) for month, name, amount in rows]
        )
