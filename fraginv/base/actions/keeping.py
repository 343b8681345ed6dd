"""Writes that happen once, and numbers without gaps."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from typing import Final

from django.db.models import F

from fraginv.base import clock
from fraginv.base.models import NumberSeries, Person, ReplayKey
from fraginv.base.queries.replays import answer_of, read_key
from fraginv.base.rules.fingerprint import fingerprint
from fraginv.base.transactions import one_transaction

KEYS_KEPT: Final = timedelta(days=90)


@one_transaction
def answer_once(key: str, *, by: Person, sent: Mapping[str, object], do: Callable[[], str]) -> str:
    """Do a write under its replay key, or give the answer it had.

    Args: ``do`` does the write and returns the answer, usually a page's path.
    Raises: InputError for a key that is none; Conflict when the key was used
        by somebody else or for something else. A failure leaves no key.
    """
    row, is_new = ReplayKey.objects.get_or_create(
        key=read_key(key),
        defaults={"by": by, "fingerprint": fingerprint(sent), "made_at": clock.now()},
    )
    if not is_new:
        return answer_of(row, by=by, sent=sent)
    row.answer = do()
    row.save(update_fields=["answer"])
    return row.answer


@one_transaction
def prune_replay_keys() -> int:
    """Forget the keys of writes of more than 90 days ago; return how many.

    A form that waited on a phone for longer than that would be done again.
    """
    return int(ReplayKey.objects.filter(made_at__lt=clock.now() - KEYS_KEPT).delete()[0])


@one_transaction
def next_number(series: str, *, year: int, count: int = 1) -> int:
    """Take the next number of a series; a rollback gives it back, so there are no gaps.

    Args: ``count`` takes a run of that many numbers at once.
    Returns: the number, the first one of a run.
    Lock: holds the series' row until the transaction ends.
    Queries: 2, and 2 more for the first number of a year.
    """
    rows = NumberSeries.objects.filter(series=series, year=year)
    if not rows.update(last=F("last") + count):
        NumberSeries.objects.get_or_create(series=series, year=year)
        rows.update(last=F("last") + count)
    return rows.get().last - count + 1


@one_transaction
def next_numbers(series: str, *, years: Sequence[int]) -> list[int]:
    """Take a number for each of many papers, each in its year, in the order given.

    Lock: as ``next_number``, the years one after the other, oldest first.
    Queries: 2 for each year, and 2 more for the first number of one.
    """
    counts = Counter(years)
    free = {year: next_number(series, year=year, count=counts[year]) for year in sorted(counts)}
    numbers = []
    for year in years:
        numbers.append(free[year])
        free[year] += 1
    return numbers
