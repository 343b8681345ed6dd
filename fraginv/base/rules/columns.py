"""The columns of a table that can be loaded, and how their cells are read."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from fraginv.base.errors import InputError
from fraginv.base.rules.money import decimal_text, parse_amount
from fraginv.base.rules.typed_days import read_day

WHOLE = re.compile(r"[+-]?[0-9]+", re.ASCII)
PLAIN = re.compile(r"[+-]?[0-9]*\.?[0-9]+", re.ASCII)
GROUPED = re.compile(r"[+-]?[0-9]{1,3}(?:[,.'’_\s][0-9]{3})+")
# Longer numbers than this are a slip of the hand, not a count.
LONGEST_NUMBER = 18
SHOWN_AT_MOST = 40
FORMULA_STARTS = ("=", "+", "@")


def plain_value(value: object) -> str:
    """Write a value as a table would have it; nothing where there is none."""
    return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, how a cell is read, and what may be left out.

    Attributes: ``read`` turns the text of a cell into a value or raises
    InputError; ``required`` says that the column must be there; ``filled``
    that no cell of it may be empty; ``empty`` is the value of an empty cell;
    ``hint`` says in words what stands in it; ``is_day`` that it holds days,
    which a table may write in another order; ``show`` writes a value plainly.
    """

    name: str
    read: Callable[[str], object]
    required: bool
    filled: bool
    empty: object
    hint: str
    is_day: bool = False
    show: Callable[[Any], str] = plain_value


def column(
    name: str,
    read: Callable[[str], object],
    *,
    hint: str,
    required: bool = True,
    filled: bool | None = None,
    empty: object = None,
) -> Column:
    """Return a column; where ``filled`` is not given, required ones must be filled."""
    return Column(
        name=name,
        read=read,
        required=required,
        filled=required if filled is None else filled,
        empty=empty,
        hint=hint,
    )


def text_column(
    name: str,
    *,
    longest: int,
    required: bool = True,
    filled: bool | None = None,
    line_breaks: bool = False,
) -> Column:
    """Return a column of text; an empty cell is ""."""

    def read(cell: str) -> str:
        return read_text(cell, longest=longest, line_breaks=line_breaks)

    hint = f"text of at most {longest} characters"
    return column(name, read, hint=hint, required=required, filled=filled, empty="")


def day_column(name: str, *, required: bool = True, filled: bool | None = None) -> Column:
    """Return a column of days, as in 2026-11-25."""
    hint = "a day, as in 2026-11-25"
    made = column(name, read_day, hint=hint, required=required, filled=filled)
    return replace(made, is_day=True)


def amount_column(
    name: str,
    *,
    currency: str,
    least: int | None = 0,
    required: bool = True,
    filled: bool | None = None,
) -> Column:
    """Return a column of amounts of money, read as minor units.

    Args: ``least`` the smallest amount taken, in minor units (None: any).
    """

    def read(cell: str) -> int:
        minor = parse_amount(cell, currency=currency)
        if least is not None and minor < least:
            bound = decimal_text(least, currency=currency)
            raise InputError(f"{shown(cell)} is less than {bound}, the least that can stand here.")
        return minor

    hint = f"an amount in {currency}, as in {decimal_text(1250, currency=currency)}"
    made = column(name, read, hint=hint, required=required, filled=filled)
    return replace(made, show=lambda minor: amount_text(minor, currency))


def whole_column(
    name: str,
    *,
    least: int,
    most: int,
    required: bool = True,
    filled: bool | None = None,
) -> Column:
    """Return a column of whole numbers from ``least`` to ``most``."""

    def read(cell: str) -> int:
        return read_whole(cell, least=least, most=most)

    hint = f"a whole number from {least} to {most}"
    return column(name, read, hint=hint, required=required, filled=filled)


def choice_column(
    name: str,
    choices: Sequence[str],
    *,
    required: bool = True,
    filled: bool | None = None,
    empty: str | None = None,
) -> Column:
    """Return a column that holds one of some words, in any case; read as listed."""
    by_folded = {choice.casefold(): choice for choice in choices}
    listed = ", ".join(choices)

    def read(cell: str) -> str:
        try:
            return by_folded[cell.casefold()]
        except KeyError as error:
            raise InputError(f"{shown(cell)} is not one of: {listed}.") from error

    hint = f"one of: {listed}"
    return column(name, read, hint=hint, required=required, filled=filled, empty=empty)


def fraction_column(
    name: str, *, places: int = 6, required: bool = True, filled: bool | None = None
) -> Column:
    """Return a column of rates or shares from 0 to 1, read as Decimal.

    Args: ``places`` the most decimals taken.
    """

    def read(cell: str) -> Decimal:
        return read_fraction(cell, places=places)

    hint = "a fraction from 0 to 1, as in 0.0625 for 6.25 %"
    return column(name, read, hint=hint, required=required, filled=filled)


def amount_text(minor: int | None, currency: str) -> str:
    """Write an amount as a table would have it; nothing where there is none."""
    return "" if minor is None else decimal_text(minor, currency=currency)


def read_text(cell: str, *, longest: int, line_breaks: bool = False) -> str:
    """Return the text of a cell in composed form (NFC), without outer spaces.

    Raises: InputError if it is too long, starts like a formula, or holds
    control characters.
    """
    text = unicodedata.normalize("NFC", cell.strip())
    if text.startswith(FORMULA_STARTS):
        raise InputError(
            f"{shown(text)} starts like a formula; write the text without the {text[0]} in front."
        )
    kept = text.replace("\r\n", " ").replace("\n", " ") if line_breaks else text
    if any(unicodedata.category(character) == "Cc" for character in kept):
        raise InputError("The cell holds a line break, tab or control character; take it out.")
    if len(text) > longest:
        raise InputError(f"The text has {len(text)} characters; at most {longest} fit here.")
    return text


def read_whole(cell: str, *, least: int, most: int) -> int:
    """Read a whole number from ``least`` to ``most``.

    Raises: InputError saying what to write instead.
    """
    if GROUPED.fullmatch(cell) and not WHOLE.fullmatch(cell):
        raise InputError(
            f"{shown(cell)} has thousands separators; write the digits without them, as in 1250."
        )
    if not WHOLE.fullmatch(cell):
        raise InputError(f"{shown(cell)} is not a whole number; write digits only, as in 12.")
    if len(cell.lstrip("+-0")) > LONGEST_NUMBER or not least <= int(cell) <= most:
        raise InputError(f"{shown(cell)} is not from {least} to {most}.")
    return int(cell)


def read_fraction(cell: str, *, places: int = 6) -> Decimal:
    """Read a fraction from 0 to 1, such as 0.0625.

    Raises: InputError saying what to write instead.
    """
    if len(cell) > SHOWN_AT_MOST or not PLAIN.fullmatch(cell) or not 0 <= Decimal(cell) <= 1:
        raise InputError(
            f"{shown(cell)} is not a fraction from 0 to 1; write 6.25 % as 0.0625, for one."
        )
    if len(cell.partition(".")[2]) > places:
        raise InputError(f"{shown(cell)} has too many decimals; at most {places} are kept.")
    return Decimal(cell)


def shown(cell: str) -> str:
    """Return a cell for a message: cut where it is long."""
    return cell if len(cell) <= SHOWN_AT_MOST else cell[:SHOWN_AT_MOST] + "…"


def column_lines(columns: Sequence[Column]) -> list[str]:
    """Return a line for each column: its heading, what stands in it, what may be left out."""
    return [f"{column.name}: {column.hint}{column_note(column)}" for column in columns]


def column_note(column: Column) -> str:
    """Say whether a column may be left out or its cells be empty."""
    if not column.required:
        return " (may be left out)"
    return "" if column.filled else " (may be empty)"
