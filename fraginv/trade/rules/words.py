"""The fixed words of the trade's papers: channels, means, series, kinds."""

from enum import StrEnum
from typing import Final

from fraginv.taxa.rules import GROUPS

RETAIL: Final = "retail"

SALE_SERIES: Final = "S"
PAYMENT_SERIES: Final = "P"
CREDIT_SERIES: Final = "C"
LOADED_SALE_SERIES: Final = "IS"
LOADED_PAYMENT_SERIES: Final = "IP"

# Groups of what is sold beside the corals.
DELIVERY: Final = "delivery"
OTHER_GOODS: Final = "other goods"
SALE_GROUPS: Final = (*GROUPS, DELIVERY, OTHER_GOODS)


class Channel(StrEnum):
    """How a sale came about."""

    COUNTER = "counter"
    OPEN_DAY = "open day"
    ORDER = "order"
    OTHER = "other"


class Means(StrEnum):
    """How money goes over; ``account`` is a customer's credit with the organisation."""

    CASH = "cash"
    CARD = "card"
    TRANSFER = "transfer"
    CHEQUE = "cheque"
    TRADE = "trade"
    ACCOUNT = "account"


class Unit(StrEnum):
    """What a price is for."""

    PIECE = "piece"
    HEAD = "head"


class Basis(StrEnum):
    """How the tax of a sale was rounded; ``stated`` came with a loaded table."""

    ITEM = "item"
    INVOICE = "invoice"
    STATED = "stated"


def paper_number(series: str, year: int, number: int) -> str:
    """Show a paper's number with its series and year: ``S-2026-0007``."""
    return f"{series}-{year}-{number:04d}"
