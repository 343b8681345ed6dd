"""What is asked of an action: items of a sale, money handed over, parts to credit."""

from dataclasses import dataclass

from fraginv.trade.rules.words import Means


@dataclass(frozen=True, slots=True)
class SaleItem:
    """Pieces of one frag to sell, free ones or those of a hold.

    ``unit_price`` (minor units a piece) stands instead of the price that is
    set, and needs the right to price by hand; ``discount`` is off this line.
    """

    frag_id: int
    pieces: int
    hold_id: int | None = None
    unit_price: int | None = None
    discount: int = 0


@dataclass(frozen=True, slots=True)
class Tender:
    """Money handed over: how, and how much in minor units."""

    means: Means
    amount: int


@dataclass(frozen=True, slots=True)
class CreditItem:
    """What to credit of one line of a sale.

    ``pieces`` come back or are made good, ``alive`` of them go into stock
    again; or an ``allowance`` in minor units, without tax, for pieces kept.
    """

    line_id: int
    pieces: int = 0
    alive: int = 0
    allowance: int = 0
