"""What a cutting may be."""

from datetime import date, timedelta
from typing import Final

from fraginv.base.errors import Conflict, InputError
from fraginv.base.rules.days import EARLIEST_DAY

MOST_PIECES: Final = 500
LONGEST_DIP: Final = 60

TOOLS: Final[dict[str, str]] = {
    "saw": "Saw",
    "cutter": "Bone cutter",
    "scalpel": "Scalpel",
    "scissors": "Scissors",
    "hand": "By hand",
    "other": "Other",
}


def check_pieces(pieces: int, *, lost: int = 0) -> None:
    """Refuse numbers that no sitting at the bench gives.

    Raises: InputError.
    """
    if not 1 <= pieces <= MOST_PIECES:
        raise InputError(
            f"{pieces:,} living pieces: one cutting gives 1 to {MOST_PIECES}. "
            "Correct the number, or record several cuttings."
        )
    if not 0 <= lost <= MOST_PIECES:
        raise InputError(f"{lost:,} lost at the bench: write a number from 0 to {MOST_PIECES}.")


def check_day(day: date, *, today: date, earliest: date | None = None) -> None:
    """Refuse a day that has not come, or one before there was anything to cut.

    Raises: InputError.
    """
    if day > today:
        raise InputError(f"{day.isoformat()} has not come yet. The day can be today or earlier.")
    if day < EARLIEST_DAY:
        raise InputError(
            f"{day.isoformat()} is before {EARLIEST_DAY.isoformat()}. Look at the year."
        )
    if earliest is not None and day < earliest:
        raise InputError(
            f"{day.isoformat()} is before the colony came in, on {earliest.isoformat()}."
        )


def rests_until(last_cut: date | None, *, rest_days: int) -> date | None:
    """Return the first day on which a colony may be cut again, or None if it was never cut."""
    return None if last_cut is None else last_cut + timedelta(days=rest_days)


def is_resting(day: date, *, last_cut: date | None, rest_days: int) -> bool:
    """Tell whether a colony rests on a day; a second cutting on the same day is one sitting."""
    until = rests_until(last_cut, rest_days=rest_days)
    return until is not None and last_cut is not None and last_cut < day < until


def check_rest(day: date, *, last_cut: date | None, rest_days: int, despite_rest: str = "") -> str:
    """Refuse to cut a colony under rest unless a reason is given.

    Returns: the reason where the colony rests, else nothing.
    Raises: Conflict.
    """
    if not is_resting(day, last_cut=last_cut, rest_days=rest_days):
        return ""
    if despite_rest.strip():
        return despite_rest.strip()
    until = rests_until(last_cut, rest_days=rest_days)
    raise Conflict(
        f"This colony was cut on {last_cut} and rests until {until}. "
        "Wait, or write down why it is cut all the same.",
        until=until,
    )


def check_most(taken: int, *, most: int, before: int, despite: str) -> str:
    """Refuse to cut more off a colony on one day than it bears, unless a reason is given.

    Args: ``taken`` pieces in all that day, ``before`` of them recorded already.
    Returns: the reason where it is more, else nothing.
    Raises: Conflict.
    """
    if taken <= most:
        return ""
    if despite.strip():
        return despite.strip()
    already = f", {before} of them before" if before else ""
    raise Conflict(
        f"{taken} pieces off this colony in one sitting{already}: its most is {most}. "
        "Correct the number, or write down why it is cut all the same.",
        most=most,
    )


def check_tool(tool: str) -> None:
    """Refuse what nobody cuts corals with; nothing is no answer yet.

    Raises: InputError.
    """
    if tool and tool not in TOOLS:
        raise InputError(f"{tool!r} is no tool. Use one of {', '.join(TOOLS)}.")


def check_dip(dip: str) -> str:
    """Return the words for a dip with single spaces.

    Raises: InputError for more than a few words.
    """
    told = " ".join(dip.split())
    if len(told) > LONGEST_DIP:
        raise InputError(f"The dip is told in at most {LONGEST_DIP} characters.")
    return told
