"""How many wrong passwords lock the door, for whom and for how long."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

# Ten tries are enough for wet thumbs; at four rounds an hour nobody guesses a
# password that is not a common one.
NAME_LIMIT = 10
# A crew behind one address must not be locked out by one of them.
ADDRESS_LIMIT = 100
LOCKED = timedelta(minutes=15)


@dataclass(frozen=True)
class Wrong:
    """Wrong passwords for one name at one address: how many, and when the last one came."""

    name: str
    count: int
    last_at: datetime


def lock_ends(found: Iterable[Wrong], *, name: str, at: datetime) -> datetime | None:
    """Return when a name may be tried again at an address, or None if it may be now.

    Args: what was wrong at that address lately.
    """
    fresh = [wrong for wrong in found if wrong.last_at + LOCKED > at]
    named = [wrong for wrong in fresh if wrong.name == name]
    ends = [falls_below(NAME_LIMIT, named), falls_below(ADDRESS_LIMIT, fresh)]
    return max((end for end in ends if end is not None), default=None)


def falls_below(limit: int, found: Iterable[Wrong]) -> datetime | None:
    """Return when so much is forgotten that fewer than ``limit`` are left, or None if so now."""
    left = sorted(found, key=lambda wrong: wrong.last_at)
    count, end = sum(wrong.count for wrong in left), None
    for wrong in left:
        if count < limit:
            break
        count, end = count - wrong.count, wrong.last_at + LOCKED
    return end


def whole_minute(moment: datetime) -> datetime:
    """Return the first full minute that is not before a moment, to be shown without seconds."""
    whole = moment.replace(second=0, microsecond=0)
    return whole if whole == moment else whole + timedelta(minutes=1)
