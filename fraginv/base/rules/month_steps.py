"""Stepping from one month to the next on a page."""

from dataclasses import dataclass

from fraginv.base.errors import InputError
from fraginv.base.rules.days import months_before, parse_month, show_month


@dataclass(frozen=True, slots=True)
class MonthSteps:
    """A month, and the texts that lead to it and its neighbours, as in 2026-11.

    ``after`` is empty from the present month on, ``before`` in the calendar's first.
    """

    month: int
    text: str
    before: str
    after: str

    @property
    def month_before(self) -> int | None:
        """Return the month before as a whole number, 202610."""
        return parse_month(self.before) if self.before else None

    @property
    def month_after(self) -> int | None:
        """Return the month after as a whole number, 202612."""
        return parse_month(self.after) if self.after else None


def steps_from(month: int, *, present: int) -> MonthSteps:
    """Return where one can go from a month; not past the present one."""
    after = neighbour(month, back=-1) if month < present else ""
    return MonthSteps(month, show_month(month), neighbour(month, back=1), after)


def neighbour(month: int, *, back: int) -> str:
    """Return the month that lies so many months back, or nothing outside the calendar."""
    try:
        return show_month(months_before(month, back))
    except InputError:
        return ""
