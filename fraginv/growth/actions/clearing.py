"""Seeing to it that nothing of what came in is forgotten, and nothing left lying."""

from datetime import timedelta
from typing import Final

from django.db.models import Max

from fraginv.base import clock
from fraginv.base.queries.files import storage_for
from fraginv.base.tasks import run_later
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.intake import MOST_WAITING, work_off_later
from fraginv.growth.models import Incoming
from fraginv.growth.queries.intake import (
    FOLDER,
    overdue_pictures,
    waiting_name,
    waiting_pictures,
)

# What a request began to write down is written down by then, or never will be.
UNDER_WAY: Final = timedelta(days=1)


@one_transaction
def ask_again() -> int:
    """Ask once more for the work on what waits too long, its task being lost; return how many.

    Queries: 1, and 1 for each.
    """
    late = list(overdue_pictures().values_list("pk", flat=True)[:MOST_WAITING])
    for pk in late:
        run_later(work_off_later, incoming_id=pk)
    return len(late)


def drop_leftovers() -> int:
    """Remove bytes that belong to no picture which waits: a killed request left them.

    Returns: how many files.
    Queries: 2; the storage lists one folder.
    """
    before = clock.now() - UNDER_WAY
    newest = Incoming.objects.filter(at__lt=before).aggregate(newest=Max("pk"))["newest"] or 0
    wanted = {waiting_name(row) for row in waiting_pictures()}
    storage = storage_for(private=True)
    try:
        _, files = storage.listdir(FOLDER)
    except FileNotFoundError:
        return 0
    left = [
        name for name in files if f"{FOLDER}/{name}" not in wanted and number_of(name) <= newest
    ]
    for name in left:
        storage.delete(f"{FOLDER}/{name}")
    return len(left)


def number_of(name: str) -> int:
    """Return the id of the picture whose bytes lie under a name."""
    number, _, _ = name.partition("-")
    return int(number) if number.isascii() and number.isdigit() else 0
