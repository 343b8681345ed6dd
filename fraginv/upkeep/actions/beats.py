"""A worker's signs of life."""

from datetime import datetime, timedelta
from typing import Final

from fraginv.base import clock
from fraginv.base.transactions import one_transaction
from fraginv.upkeep.models import Beat

KEPT: Final = timedelta(days=1)


@one_transaction
def beat(worker: str, *, host: str, started_at: datetime, doing: str = "") -> None:
    """Write down that a worker lives, and what it does.

    Queries: 1, and 1 more the first time.
    """
    row = {"host": host[:255], "started_at": started_at, "beat_at": clock.now(), "doing": doing}
    if not Beat.objects.filter(worker=worker).update(**row):
        Beat.objects.create(worker=worker, **row)


@one_transaction
def end_beats(worker: str) -> None:
    """Forget a worker that ended in good order, and those that were lost long ago."""
    Beat.objects.filter(worker=worker).delete()
    Beat.objects.filter(beat_at__lt=clock.now() - KEPT).delete()
