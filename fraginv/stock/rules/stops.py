"""What a stop-sale has to say, and whether it holds in a water."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from fraginv.base.errors import InputError

LONGEST_BACK: Final = timedelta(days=365)
LONGEST_WORDS: Final = 200
# What is noticed was there before; how long is a guess, and is asked.
USUAL_DAYS: Final = 7


def check_stop(*, reason: str, ends_when: str, since: date, today: date) -> None:
    """Refuse a stop-sale that does not say why, what ends it, or since a day that cannot be.

    Raises: InputError saying what to write.
    """
    if not reason.strip():
        raise InputError("Say why the sale is stopped: flatworms, a treatment in the water …")
    if not ends_when.strip():
        raise InputError("Say what ends it: three clean checks, a water change, a day …")
    if max(len(reason), len(ends_when)) > LONGEST_WORDS:
        raise InputError(f"Say it in at most {LONGEST_WORDS} characters.")
    check_since(since, today=today)


def check_since(since: date, *, today: date) -> None:
    """Refuse a day that has not come, or lies further back than anybody is called for.

    Raises: InputError.
    """
    if since > today:
        raise InputError(f"{since.isoformat()} has not come yet. Choose today or an earlier day.")
    if since < today - LONGEST_BACK:
        raise InputError(
            f"{since.isoformat()} is more than a year ago. Choose a day from "
            f"{(today - LONGEST_BACK).isoformat()} on."
        )


@dataclass(frozen=True)
class Water:
    """Where something stands: the ids of its trough and system, None for no known place."""

    trough: int | None = None
    system: int | None = None


@dataclass(frozen=True)
class WaterStop:
    """A stop-sale by its id, of a trough or a system by theirs, and why it was made."""

    id: int
    reason: str
    trough: int | None = None
    system: int | None = None

    def holds_in(self, water: Water) -> bool:
        """Tell whether what stands in a water is stopped by it."""
        here = self.trough is not None and self.trough == water.trough
        return here or (self.system is not None and self.system == water.system)


def left_behind(stops: Iterable[WaterStop], *, left: Water, now: Water) -> list[WaterStop]:
    """Return the stop-sales that held where a piece stood and do not hold where it stands now."""
    return [one for one in stops if one.holds_in(left) and not one.holds_in(now)]


def say_left(stops: Iterable[WaterStop], *, left: Water, now: Water) -> str:
    """Say which stop-sales held where a piece stood and do not hold where it stands now.

    Returns: nothing where it leaves none behind.
    """
    behind = [one.reason for one in left_behind(stops, left=left, now=now)]
    return f"came out of stopped water: {', '.join(dict.fromkeys(behind))}" if behind else ""
