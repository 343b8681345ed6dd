"""What of a frag is due, so that a round looks there first."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from fraginv.stock.rules.stages import Stage


class Due(StrEnum):
    """Why somebody should look at a frag, the most urgent first."""

    CHECK = "check"
    DIP = "dip"
    HEALING = "healing"
    UNSEEN = "unseen"
    LIKELY = "likely"


# Of one, and of several.
DUE_WORDS: Final[dict[Due, tuple[str, str]]] = {
    Due.CHECK: ("quarantine check due", "quarantine checks due"),
    Due.DIP: ("dip due", "dips due"),
    Due.HEALING: ("heals longer than usual", "heal longer than usual"),
    Due.UNSEEN: ("not seen for too long", "not seen for too long"),
    Due.LIKELY: ("likely ready", "likely ready"),
}
# All but what is likely ready is late: something should have been done by now.
LATE: Final = frozenset(Due) - {Due.LIKELY}


@dataclass(frozen=True)
class Watched:
    """What decides whether a living frag is due; ``seen_on`` is when it or its rack was seen."""

    stage: str
    seen_on: date | None
    seen_every: int
    apart: bool = False
    quarantined: bool = False
    check_days: int = 7
    dip_due_on: date | None = None
    heal_by: date | None = None
    likely_on: date | None = None


def due_of(frag: Watched, *, today: date) -> tuple[Due, ...]:
    """Name what is due of a frag, the most urgent first.

    In quarantine the check is what asks for a look, outside the variety's interval.
    """
    every = frag.check_days if frag.quarantined else frag.seen_every
    is_unseen = frag.seen_on is None or frag.seen_on + timedelta(days=every) <= today
    told = {
        Due.CHECK: frag.quarantined and is_unseen,
        Due.DIP: has_come(frag.dip_due_on, today=today),
        Due.HEALING: frag.stage == Stage.HEALING and has_come(frag.heal_by, today=today),
        Due.UNSEEN: not frag.quarantined and is_unseen,
        Due.LIKELY: frag.stage == Stage.GROWING
        and not frag.apart
        and has_come(frag.likely_on, today=today),
    }
    return tuple(due for due, holds in told.items() if holds)


def has_come(day: date | None, *, today: date) -> bool:
    """Tell whether a day is today or past."""
    return day is not None and day <= today


def later_of(*days: date | None) -> date | None:
    """Return the latest of the days that are known."""
    known = [day for day in days if day is not None]
    return max(known, default=None)


def count_due(found: Iterable[tuple[Due, ...]]) -> dict[Due, int]:
    """Return how many frags are due for each reason, without those for which none is."""
    counts = dict.fromkeys(Due, 0)
    for dues in found:
        for due in dues:
            counts[due] += 1
    return {due: count for due, count in counts.items() if count}


def say_due(due: Due, *, count: int) -> str:
    """Say how many frags are due for a reason."""
    one, many = DUE_WORDS[due]
    return f"{count} {one if count == 1 else many}"
