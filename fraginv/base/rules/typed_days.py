"""Days in tables: how they were typed there, and what to write where that is not plain."""

import re
from datetime import date, timedelta
from enum import StrEnum
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.days import parse_day

TYPED: Final = re.compile(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", re.ASCII)
SHORT_YEAR: Final = re.compile(r"[0-9]{1,2}([./-])[0-9]{1,2}\1[0-9]{2}", re.ASCII)
YEAR_FIRST: Final = re.compile(r"([0-9]{4})([./])([0-9]{1,2})\2([0-9]{1,2})", re.ASCII)
SERIAL: Final = re.compile(r"[0-9]{5}", re.ASCII)
# Source: ECMA-376 part 1, 18.17.4.1: in the 1900 date system 1900-01-01 is day 1, and a 29th of
# February 1900 is counted that never was.
SERIAL_START: Final = date(1899, 12, 30)


class DayOrder(StrEnum):
    """How the days of a table are written; nothing else is guessed."""

    YEAR_FIRST = "year first"
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"


def read_day(cell: str, *, order: DayOrder = DayOrder.YEAR_FIRST) -> date:
    """Read a day as in 2026-11-25, and as in 25.11.2026 where ``order`` says which comes first.

    Raises: InputError with what to write instead.
    """
    found = TYPED.fullmatch(cell)
    if found and order != DayOrder.YEAR_FIRST:
        first, second, year = int(found[1]), int(found[3]), int(found[4])
        month, day = (second, first) if order == DayOrder.DAY_FIRST else (first, second)
        if read := valid_day(year, month, day):
            return read
        raise InputError(
            f"There is no day {cell} in the calendar, read with the {order}.{hint_for(cell)}"
        )
    try:
        return parse_day(cell)
    except InputError as error:
        raise InputError(f"{error.message}{hint_for(cell)}") from error


def hint_for(cell: str) -> str:
    """Return what a cell may mean that is no day as it stands, or nothing."""
    if SHORT_YEAR.fullmatch(cell):
        return " Write the year with four digits."
    if SERIAL.fullmatch(cell):
        meant = SERIAL_START + timedelta(days=int(cell))
        return (
            f" By this number a spreadsheet keeps a day, most likely {meant}: give the column "
            "the form of a date there."
        )
    readings = readings_of(cell)
    if len(readings) > 1:
        return f" It may be {readings[0]} or {readings[1]}: write the one that is meant."
    return f" Most likely it is {readings[0]}." if readings else ""


def readings_of(cell: str) -> list[date]:
    """Return the days that a typed one may be, the earliest first."""
    if found := YEAR_FIRST.fullmatch(cell):
        tried = [valid_day(int(found[1]), int(found[3]), int(found[4]))]
    elif found := TYPED.fullmatch(cell):
        one, other, year = int(found[1]), int(found[3]), int(found[4])
        tried = [valid_day(year, one, other), valid_day(year, other, one)]
    else:
        return []
    return sorted({day for day in tried if day is not None})


def valid_day(year: int, month: int, day: int) -> date | None:
    """Return a day, or None where the calendar has none such."""
    try:
        return date(year, month, day)
    except ValueError:
        return None
