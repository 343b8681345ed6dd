"""What happens on which day of the demo's fourteen months."""

import heapq
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from fraginv.base import clock

Deed = Callable[[date], None]


class Agenda:
    """Deeds by day; doing one may add others on the same or a later day."""

    def __init__(self, *, zone: str, today: date) -> None:
        self.zone = ZoneInfo(zone)
        self.today = today
        self.count = 0
        self.waiting: list[tuple[date, int, int, Deed]] = []

    def add(self, day: date, deed: Deed, *, hour: int = 9) -> None:
        """Put a deed on a day; what would come after today is left out."""
        if day > self.today:
            return
        self.count += 1
        heapq.heappush(self.waiting, (day, hour, self.count, deed))

    def run(self) -> None:
        """Do everything in order, each with the clock at its own day and hour."""
        while self.waiting:
            day, hour, _, deed = heapq.heappop(self.waiting)
            moment = datetime.combine(day, time(hour), self.zone)
            with clock.at(min(moment, clock.now())):
                deed(day)


def days_before(today: date, days: int) -> date:
    """Return the day that many days ago."""
    return today - timedelta(days=days)
