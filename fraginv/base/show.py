"""Amounts, days, moments and shares as the organisation writes them."""

from collections.abc import Callable
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache, wraps
from typing import NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from babel.dates import format_date, format_skeleton, format_time
from babel.numbers import (
    format_currency,
    format_decimal,
    format_percent,
    get_currency_symbol,
)

from fraginv.base.models import Organisation
from fraginv.base.rules.days import month_bounds
from fraginv.base.rules.money import exponent

SHARE_STEP = Decimal("0.0001")
GLANCE_STEP = Decimal("0.001")
# Babel parts the hour from AM and PM by a narrow space that few fonts of papers have.
NARROW_SPACE, PLAIN_SPACE = "\u202f", "\u00a0"

# How many texts of each kind are kept: pages write the same days and counts again and again.
KEPT = 4096
T = TypeVar("T")


class Manner(NamedTuple):
    """What decides how an organisation writes."""

    currency: str
    zone: str
    locale: str


def kept(write: Callable[[T, Manner], str]) -> Callable[[T, Organisation | Manner], str]:
    """Keep what was written of a value in a manner; equal values must read alike."""
    remembered = lru_cache(maxsize=KEPT)(write)

    @wraps(write)
    def show(value: T, organisation: Organisation | Manner) -> str:
        """Look it up, or write it."""
        manner = Manner(organisation.currency, organisation.zone, organisation.locale)
        return remembered(value, manner)

    return show


@kept
def show_money(minor: int, organisation: Manner) -> str:
    """Write an amount with its currency.

    Args: ``minor`` in the currency's minor units.
    """
    major = Decimal(minor).scaleb(-exponent(organisation.currency))
    text = format_currency(major, organisation.currency, locale=organisation.locale)
    symbol = get_currency_symbol(organisation.currency, locale=organisation.locale)
    # CLDR parts a symbol that ends in a letter from the number; Babel leaves that out.
    return text.replace(symbol, symbol + PLAIN_SPACE) if is_glued(text, symbol) else text


@kept
def show_money_whole(minor: int, organisation: Manner) -> str:
    """Write an amount without its minor digits, for the levels of a picture.

    Args: ``minor`` in the currency's minor units; what lies behind the point is dropped.
    """
    major = int(Decimal(minor).scaleb(-exponent(organisation.currency)))
    return format_currency(
        major, organisation.currency, "\xa4#,##0", locale=organisation.locale, currency_digits=False
    )


def is_glued(text: str, symbol: str) -> bool:
    """Tell whether a symbol of letters runs into the digits after it."""
    return symbol[-1].isalpha() and text.partition(symbol)[2][:1].isdigit()


@kept
def show_day(day: date, organisation: Manner) -> str:
    """Write a calendar day as the locale does."""
    return format_date(day, format="medium", locale=organisation.locale)


@kept
def show_month(month: int, organisation: Manner) -> str:
    """Write a month in words.

    Args: ``month`` as a whole number, 202611 for November 2026.
    """
    first, _ = month_bounds(month)
    return format_skeleton("yMMMM", first, locale=organisation.locale)


@kept
def show_month_name(month: int, organisation: Manner) -> str:
    """Write a month's short name without its year: ``Nov``."""
    first, _ = month_bounds(month)
    return format_skeleton("MMM", first, locale=organisation.locale)


@kept
def show_clock(moment: datetime, organisation: Manner) -> str:
    """Write hour and minute of a moment as the organisation's wall clock shows them."""
    zone = ZoneInfo(organisation.zone)
    clock = format_time(moment, format="short", tzinfo=zone, locale=organisation.locale)
    return clock.replace(NARROW_SPACE, PLAIN_SPACE)


@kept
def show_moment(moment: datetime, organisation: Manner) -> str:
    """Write day and time of a moment in the organisation's zone.

    Args: ``moment`` with a time zone of its own.
    """
    day = moment.astimezone(ZoneInfo(organisation.zone)).date()
    return f"{show_day(day, organisation)}, {show_clock(moment, organisation)}"


def show_percent(rate: Decimal, organisation: Organisation) -> str:
    """Write a share in hundredths, with at most two decimals, rounded half up.

    Args: ``rate`` as a fraction, 0.0625 for 6.25 %.
    """
    rounded = rate.quantize(SHARE_STEP, rounding=ROUND_HALF_UP)
    return format_percent(rounded, locale=organisation.locale, decimal_quantization=False)


def show_share(share: Decimal, organisation: Organisation) -> str:
    """Write a share in hundredths with one decimal, rounded half up, for reading at a glance.

    Args: ``share`` as a fraction, 0.1236 for 12.4 %.
    """
    rounded = share.quantize(GLANCE_STEP, rounding=ROUND_HALF_UP)
    return format_percent(rounded, locale=organisation.locale, decimal_quantization=False)


def show_number(number: int | Decimal, organisation: Organisation | Manner) -> str:
    """Write a number with the locale's separators."""
    return format_decimal(number, locale=organisation.locale, decimal_quantization=False)


@kept
def show_pieces(pieces: int, organisation: Manner) -> str:
    """Count living pieces in words: ``1 piece``, ``12 pieces``."""
    return f"{show_number(pieces, organisation)} {'piece' if pieces == 1 else 'pieces'}"
