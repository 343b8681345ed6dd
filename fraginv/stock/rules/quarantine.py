"""When something may leave quarantine."""

from dataclasses import dataclass
from datetime import date, timedelta

from fraginv.base.errors import Conflict


@dataclass(frozen=True)
class Stay:
    """How something has done in quarantine, and what its water asks of it."""

    since: date
    clean_checks: int
    least_days: int
    checks_needed: int

    @property
    def leaves_on(self) -> date:
        """Return the first day on which it may leave, clean checks provided."""
        return self.since + timedelta(days=self.least_days)

    @property
    def checks_missing(self) -> int:
        """Return how many clean checks it still lacks."""
        return max(self.checks_needed - self.clean_checks, 0)

    def day_of(self, today: date) -> int:
        """Return the how manieth day it is; the day on which it came in is day 1."""
        return max((today - self.since).days + 1, 1)

    def may_leave(self, today: date) -> bool:
        """Tell whether it has been there long enough and was found clean often enough."""
        return today >= self.leaves_on and not self.checks_missing


def why_stays(stay: Stay, *, today: date) -> str:
    """Say what is lacking before something may leave, or nothing where it may."""
    told = []
    if today < stay.leaves_on:
        told.append(f"it stays until {stay.leaves_on.isoformat()}")
    if stay.checks_missing:
        several = "check is" if stay.checks_missing == 1 else "checks are"
        told.append(f"{stay.checks_missing} clean {several} missing")
    return " and ".join(told)


def check_release(code: str, stay: Stay, *, today: date, despite: str, may_early: bool) -> None:
    """Refuse to let something out of quarantine before its time.

    Args: ``despite`` says why it leaves all the same; ``may_early`` whether who does it may.
    Raises: Conflict that says until when it stays and what is missing.
    """
    lacking = why_stays(stay, today=today)
    if not lacking or (despite and may_early):
        return
    do = (
        "Look at it again then, or write down why it leaves all the same."
        if may_early
        else "A manager may let it out before, with a reason."
    )
    raise Conflict(f"{code} is in quarantine: {lacking}. {do}")
