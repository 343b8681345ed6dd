"""When what recurs is due, and how long to wait before something is tried again."""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

FIRST_PAUSE: Final = timedelta(minutes=1)
PAUSE_FACTOR: Final = 5
LONGEST_PAUSE: Final = timedelta(hours=6)


@dataclass(frozen=True)
class Daily:
    """Once a day at a time of the organisation's zone, such as ``03:10``."""

    at: str
    period = timedelta(days=1)

    def after(self, moment: datetime, *, zone: str) -> datetime:
        """Return the first moment later than one at which it is due.

        In the night when clocks go forward a time that does not exist is the
        moment as far after the change; when they go back, the first of two.
        """
        here = ZoneInfo(zone)
        day = moment.astimezone(here).date() - timedelta(days=1)
        while True:
            wall = datetime.combine(day, time.fromisoformat(self.at), tzinfo=here)
            due = wall.replace(fold=0).astimezone(UTC)
            if due > moment:
                return due
            day += timedelta(days=1)


@dataclass(frozen=True)
class Every:
    """Again and again after so many minutes."""

    minutes: int

    @property
    def period(self) -> timedelta:
        """Return how long lies between two turns."""
        return timedelta(minutes=self.minutes)

    def after(self, moment: datetime, *, zone: str) -> datetime:
        """Return the moment that is one period later."""
        return moment + self.period


When = Daily | Every


def is_too_far(next_at: datetime, *, when: When, now: datetime) -> bool:
    """Tell whether a turn lies further ahead than can be: the clock was set back since."""
    return next_at - now > when.period + timedelta(hours=2)


def pause_before(attempt: int) -> timedelta:
    """Return how long to wait before a try.

    Args: ``attempt`` counts from 1; the second waits a minute, then 5, 25, 125 and at most 6 hours.
    """
    factor: int = PAUSE_FACTOR ** min(max(0, attempt - 2), 9)
    return min(FIRST_PAUSE * factor, LONGEST_PAUSE)
