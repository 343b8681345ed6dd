"""What a hold may be, and how to say who has what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final
from zoneinfo import ZoneInfo

from fraginv.base.errors import InputError


class ClaimKind(StrEnum):
    """Who has pieces, and how: three kinds of hold, or a sale."""

    WALK = "walk"
    NAMED = "named"
    PAID = "paid"
    SALE = "sale"


WALK_TIME: Final = timedelta(minutes=30)
NAMED_TIME: Final = timedelta(days=3)
LONGEST: Final = timedelta(days=60)
LONGEST_WALK: Final = timedelta(hours=4)
# How a hold ended, or became smaller, whose pieces died; and which kinds give way first.
DIED: Final = "lost"
GIVING_WAY: Final = (ClaimKind.WALK, ClaimKind.NAMED, ClaimKind.PAID)


@dataclass(frozen=True)
class Holder:
    """Who has how many pieces until when; ``until`` is None for a paid hold."""

    name: str
    pieces: int
    until: datetime | None


def hold_end(kind: ClaimKind, *, until: datetime | None, now: datetime) -> datetime | None:
    """Return when a hold runs out.

    Raises: InputError for a moment that is past, too far off, or on a paid hold.
    """
    if kind is ClaimKind.PAID:
        return None
    if until is None:
        return now + (WALK_TIME if kind is ClaimKind.WALK else NAMED_TIME)
    if until <= now:
        raise InputError("The hold would end in the past. Choose a later time.")
    if kind is ClaimKind.WALK and until > now + LONGEST_WALK:
        hours = LONGEST_WALK // timedelta(hours=1)
        raise InputError(f"A walk lasts {hours} hours at most. Put aside for days instead.")
    if until > now + LONGEST:
        raise InputError(f"A hold lasts {LONGEST.days} days at most. Choose an earlier day.")
    return until


def check_hold_pieces(pieces: int) -> None:
    """Refuse a number of pieces that is none.

    Raises: InputError.
    """
    if pieces < 1:
        raise InputError(f"{pieces} pieces: a hold or a sale is of at least 1.")


def say_holders(holders: Sequence[Holder], *, zone: str) -> str:
    """Say who has what until when, in the organisation's time zone."""
    told = []
    for holder in holders:
        end = "until it is fetched"
        if holder.until is not None:
            local = holder.until.astimezone(ZoneInfo(zone))
            end = f"until {local:%Y-%m-%d %H:%M}"
        told.append(f"{holder.name} has {holder.pieces} {end}")
    return "; ".join(told)
