"""Money as whole minor units: reading, writing, rounding and splitting it."""

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from iso4217 import Currency

from fraginv.base.errors import InputError

LARGEST = 10**12
PLAIN = re.compile(r"[+-]?(?P<whole>[0-9]*)(?:\.(?P<part>[0-9]+))?", re.ASCII)
GROUPED = re.compile(
    r"(?P<whole>[+-]?[0-9]{1,3}(?P<mark>[,.'’_\s])[0-9]{3}(?:(?P=mark)[0-9]{3})*)"
    r"(?:(?!(?P=mark))[.,](?P<part>[0-9]+))?"
)
COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+", re.ASCII)
# Up to three letters, or one sign, before or after the number.
NAMED = re.compile(
    r"(?P<sign>[+-]?)(?:[A-Za-z]{1,3}|[^\w\s.,'’+-])?\s?"
    r"(?P<number>[+-]?[0-9][0-9.,'’_\s]*?)"
    r"\s?(?:[A-Za-z]{1,3}|[^\w\s.,'’+-])?"
)
HALF = Fraction(1, 2)
SHOWN_AT_MOST = 40


def exponent(currency: str) -> int:
    """Return how many decimals a currency has: 2 for USD, 0 for JPY, 3 for KWD.

    Raises: InputError if the code is none of ISO 4217's or has no minor unit.
    Source: ISO 4217 list of currencies, by the ``iso4217`` library.
    """
    try:
        digits = Currency(currency).exponent
    except ValueError as error:
        raise InputError(
            f"{currency[:SHOWN_AT_MOST]} is not a currency; write its three-letter code, as in USD."
        ) from error
    if digits is None:
        raise InputError(f"{currency} has no minor unit, so no accounts can be kept in it.")
    return digits


def parse_amount(text: str, *, currency: str) -> int:
    """Read a plain decimal amount, such as 1250.00 or -3.5.

    Returns: minor units of the currency.
    Raises: InputError saying what to write instead.
    """
    typed = text.strip()
    digits = exponent(currency)
    found = PLAIN.fullmatch(typed)
    if not found or not (found["whole"] or found["part"]):
        raise InputError(why_no_amount(typed))
    part = found["part"] or ""
    if len(part) > digits:
        raise InputError(too_fine(typed, currency, digits))
    if len(found["whole"].lstrip("0")) > len(str(LARGEST)):
        raise InputError(too_large(typed, currency))
    minor = int((found["whole"] or "0") + part.ljust(digits, "0"))
    if minor > LARGEST:
        raise InputError(too_large(typed, currency))
    return -minor if typed.startswith("-") else minor


def decimal_text(minor: int, *, currency: str) -> str:
    """Write minor units as a plain decimal, as ``parse_amount`` reads it: 12.50."""
    digits = exponent(currency)
    sign = "-" if minor < 0 else ""
    if not digits:
        return f"{minor}"
    whole, part = divmod(abs(minor), 10**digits)
    return f"{sign}{whole}.{part:0{digits}d}"


def named_text(minor: int, *, currency: str) -> str:
    """Write minor units with the currency's name, for messages: 12.50 USD."""
    return f"{decimal_text(minor, currency=currency)} {currency}"


def round_half_up(value: Fraction | Decimal) -> int:
    """Round to a whole number once, exact halves away from zero.

    Away from zero, so that a credit is the mirror of its sale.
    """
    exact = Fraction(value)
    size = (abs(exact) + HALF).__floor__()
    return -size if exact < 0 else size


def multiply(minor: int, factor: Decimal) -> int:
    """Return the exact product of an amount and a factor, rounded half up once."""
    return round_half_up(minor * Fraction(factor))


def split_by_largest_remainder(total: int, weights: Sequence[int]) -> list[int]:
    """Split a total in proportion to weights, so that the parts sum to it.

    Every part is its exact share rounded down or up; what is left over goes
    to the largest remainders, the earlier one where two are equal.

    Raises: InputError if a weight is negative, or all are zero and the total is not.
    """
    if any(weight < 0 for weight in weights):
        raise InputError("An amount cannot be split over parts of which one is negative.")
    whole = sum(weights)
    if not whole:
        if total:
            raise InputError("An amount cannot be split: there is nothing to split it over.")
        return [0] * len(weights)
    size = abs(total)
    parts = [size * weight // whole for weight in weights]
    remainders = [size * weight % whole for weight in weights]
    order = sorted(range(len(weights)), key=lambda place: (-remainders[place], place))
    for place in order[: size - sum(parts)]:
        parts[place] += 1
    return [-part for part in parts] if total < 0 else parts


def why_no_amount(typed: str) -> str:
    """Say what is wrong with a text that is no plain decimal, and what to write."""
    shown = typed[:SHOWN_AT_MOST]
    named = NAMED.fullmatch(shown)
    if not typed:
        return "The amount is empty; write a decimal number, such as 12.50."
    if "%" in shown:
        return f"{shown} is a share; write amounts only, no percent, as in 12.50."
    if named and named["sign"] + named["number"] != shown:
        return f"{shown} has a currency sign or letters; write the number alone, as in 12.50."
    if grouped := GROUPED.fullmatch(shown):
        part = f".{grouped['part']}" if grouped["part"] else ""
        plain = grouped["whole"].replace(grouped["mark"], "") + part
        return f"{shown} has thousands separators; write it without separators: {plain}."
    if COMMA.fullmatch(shown):
        return f"{shown} has a comma; write the decimals after a point, as in 12.50."
    return f"{shown} is not an amount; write a decimal number, such as 12.50."


def too_fine(typed: str, currency: str, digits: int) -> str:
    """Say that an amount has more decimals than its currency."""
    shown = typed[:SHOWN_AT_MOST]
    if not digits:
        return f"{shown} has decimals, but {currency} has none; write a whole number."
    return f"{shown} has too many decimals; {currency} has {digits}."


def too_large(typed: str, currency: str) -> str:
    """Say that an amount is beyond the largest that is kept."""
    most = decimal_text(LARGEST, currency=currency)
    return f"{typed[:SHOWN_AT_MOST]} is too large; the most that can be kept is {most}."
