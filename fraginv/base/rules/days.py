"""Business days and months."""

import re
from calendar import monthrange
from datetime import MAXYEAR, MINYEAR, date, datetime
from typing import Final
from zoneinfo import ZoneInfo

from fraginv.base.errors import InputError

DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
MONTH = re.compile(r"([0-9]{4})-([0-9]{2})", re.ASCII)
SHOWN_AT_MOST = 40
EARLIEST_DAY: Final = date(1990, 1, 1)


def time_zone(name: str) -> ZoneInfo:
    """Return a time zone by its name in the tz database.

    Raises: InputError if there is none of that name.
    """
    try:
        return ZoneInfo(name)
    # ZoneInfo answers a folder, a path or a bad name each with another error.
    except (KeyError, ValueError, OSError) as error:
        raise InputError(
            f"{name[:SHOWN_AT_MOST]} is not a time zone; write one such as America/New_York."
        ) from error


def business_day(moment: datetime, zone: str) -> date:
    """Return the day that a moment falls on in the organisation's time zone.

    Raises: ValueError if the moment has no offset; InputError for an unknown zone.
    """
    if moment.utcoffset() is None:
        raise ValueError("a moment needs an offset from UTC")
    return moment.astimezone(time_zone(zone)).date()


def parse_day(text: str) -> date:
    """Read a day written as 2026-11-25 (ISO 8601, extended form).

    Raises: InputError if it is written otherwise or is not in the calendar.
    """
    typed = text.strip()
    shown = typed[:SHOWN_AT_MOST]
    if not DAY.fullmatch(typed):
        raise InputError(f"{shown or 'Nothing'} is not a day; write it as in 2026-11-25.")
    try:
        return date.fromisoformat(typed)
    except ValueError as error:
        raise InputError(f"There is no day {shown} in the calendar.") from error


def month_of(day: date) -> int:
    """Return the month of a day as a number: 202611."""
    return day.year * 100 + day.month


def parse_month(text: str) -> int:
    """Read a month written as 2026-11.

    Returns: the month as a number, 202611.
    Raises: InputError if it is written otherwise or there is no such month.
    """
    typed = text.strip()
    shown = typed[:SHOWN_AT_MOST]
    found = MONTH.fullmatch(typed)
    if not found:
        raise InputError(f"{shown or 'Nothing'} is not a month; write it as in 2026-11.")
    month = int(found[1]) * 100 + int(found[2])
    if not is_month(month):
        raise InputError(f"There is no month {shown}; months run from 01 to 12, as in 2026-11.")
    return month


def show_month(month: int) -> str:
    """Write a month as 2026-11."""
    return f"{month // 100:04d}-{month % 100:02d}"


def month_bounds(month: int) -> tuple[date, date]:
    """Return the first and the last day of a month, both inside it."""
    year, number = divmod(month, 100)
    return date(year, number, 1), date(year, number, monthrange(year, number)[1])


def months_before(month: int, n: int) -> int:
    """Return the month that lies ``n`` months earlier (later, if ``n`` is negative).

    Raises: InputError if the calendar does not reach there.
    """
    year, number = divmod(month // 100 * 12 + month % 100 - 1 - n, 12)
    found = year * 100 + number + 1
    if not is_month(found):
        raise InputError(f"There is no month {n} before {show_month(month)} in the calendar.")
    return found


def is_month(month: int) -> bool:
    """Tell whether a number such as 202611 is a month."""
    return MINYEAR <= month // 100 <= MAXYEAR and 1 <= month % 100 <= 12
