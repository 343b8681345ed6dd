"""Which backups were made, and how old the last good one is."""

from datetime import timedelta

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.upkeep.models import Backup


def backups_made() -> QuerySet[Backup]:
    """Return all backups that were made or tried, the newest first."""
    return Backup.objects.all()


def last_good_backup() -> Backup | None:
    """Return the newest backup that lacks nothing.

    Queries: 1.
    """
    return Backup.objects.filter(problem="").first()


def age_of_last_good() -> timedelta | None:
    """Return how old the last good backup is, never below zero; None before there is one.

    Queries: 1.
    """
    last = last_good_backup()
    return None if last is None else max(clock.now() - last.at, timedelta())
