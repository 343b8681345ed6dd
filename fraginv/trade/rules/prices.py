"""Which price holds: the most specific target, and of its prices the latest."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from fraginv.base.errors import InputError
from fraginv.trade.rules.words import Unit


@dataclass(frozen=True, slots=True)
class Target:
    """What a price is set for: one frag, a variety or a group, with a size or any."""

    frag: int | None = None
    variety: int | None = None
    group: str = ""
    size: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """A price as it was set: an amount in minor units per piece or per head."""

    amount: int
    unit: Unit
    first_day: date


@dataclass(frozen=True, slots=True)
class Wanted:
    """A piece that a price is looked for: its names are for the messages."""

    frag: int | None
    variety: int
    variety_name: str
    group: str
    size: str = ""
    heads: int | None = None


@dataclass(frozen=True, slots=True)
class Chosen:
    """The price of one piece in minor units, and the offer and target it came from."""

    amount: int
    offer: Offer
    target: Target


class PriceMissing(InputError):
    """There is no price, or one per head for a piece whose heads nobody counted."""

    code = "price_missing"


def targets_of(wanted: Wanted) -> list[Target]:
    """Return where to look for a piece's price, the most specific first.

    Source: design decision of the house: own price, variety with size, variety,
    group with size, group.
    """
    places = [] if wanted.frag is None else [Target(frag=wanted.frag)]
    for size in dict.fromkeys((wanted.size, "")):
        places.append(Target(variety=wanted.variety, size=size))
    for size in dict.fromkeys((wanted.size, "")):
        places.append(Target(group=wanted.group, size=size))
    return places


def price_book(rows: Iterable[tuple[Target, Offer]], *, day: date) -> dict[Target, Offer]:
    """Keep for each target the offer with the latest first day up to ``day``.

    Args: ``rows`` in the order in which they were set; of one day the last one counts.
    """
    book: dict[Target, Offer] = {}
    for target, offer in rows:
        if offer.first_day > day:
            continue
        held = book.get(target)
        if held is None or offer.first_day >= held.first_day:
            book[target] = offer
    return book


def choose_price(book: Mapping[Target, Offer], wanted: Wanted, *, kind: str) -> Chosen:
    """Return the price of one piece.

    Raises: PriceMissing naming variety, size and kind, and where to mend it.
    """
    for target in targets_of(wanted):
        offer = book.get(target)
        if offer is not None:
            return Chosen(amount=piece_price(offer, wanted), offer=offer, target=target)
    raise PriceMissing(
        f"There is no {kind} price for {named(wanted)}. Set it under Prices, {kind}.",
        variety=wanted.variety,
        size=wanted.size,
        kind=kind,
    )


def piece_price(offer: Offer, wanted: Wanted) -> int:
    """Return what one piece costs in minor units: the amount, or heads times the amount.

    Raises: PriceMissing where the heads are not counted.
    """
    if offer.unit == Unit.PIECE:
        return offer.amount
    if wanted.heads is None:
        raise PriceMissing(
            f"{named(wanted)} is priced by the head, and its heads are not counted. "
            "Count them and grade the frag, or set a price per piece.",
            variety=wanted.variety,
            size=wanted.size,
        )
    return offer.amount * wanted.heads


def named(wanted: Wanted) -> str:
    """Name a piece for a message: variety and size."""
    return f"{wanted.variety_name}, size {wanted.size}" if wanted.size else wanted.variety_name


def check_price(amount: int, *, target: Target) -> None:
    """Refuse a price that is negative or set for nothing or for two things.

    Raises: InputError.
    """
    if amount < 0:
        raise InputError("A price cannot be negative.")
    named_targets = [target.frag is not None, target.variety is not None, bool(target.group)]
    if named_targets.count(True) != 1:
        raise InputError("Set a price for one frag, one variety or one group.")
    if target.frag is not None and target.size:
        raise InputError("A frag's own price needs no size.")
