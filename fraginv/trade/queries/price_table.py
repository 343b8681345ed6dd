"""A kind of customer's prices, set out for the manager."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Frag, Variety
from fraginv.stock.queries.frags import saleable_frags
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.models import CustomerKind, TaxRate
from fraginv.trade.queries.prices import PriceList, prices_for
from fraginv.trade.rules.prices import Offer, PriceMissing, Target, Wanted, choose_price
from fraginv.trade.rules.words import SALE_GROUPS

ANY_SIZE = ""


@dataclass(frozen=True)
class Cell:
    """The price of one size, or of any; empty where none is set."""

    size: str
    offer: Offer | None

    @property
    def name(self) -> str:
        """Return the size in words."""
        return SIZES.get(self.size, "Any size")


@dataclass(frozen=True)
class PriceRow:
    """The prices of a variety or a group, size by size."""

    name: str
    variety: int | None
    group: str
    cells: Sequence[Cell]


@dataclass(frozen=True)
class Lack:
    """A variety and size of which pieces are for sale, and nobody knows the price."""

    variety: int
    name: str
    size: str
    why: str


@dataclass(frozen=True)
class OwnPrice:
    """A frag that is sold by its own price."""

    code: str
    name: str
    offer: Offer


@dataclass(frozen=True)
class PriceTable:
    """All that a manager sees of one kind's prices."""

    lacks: Sequence[Lack]
    varieties: Sequence[PriceRow]
    groups: Sequence[PriceRow]
    own: Sequence[OwnPrice]
    tax: TaxRate | None


def price_table(kind: CustomerKind, *, day: date) -> PriceTable:
    """Return the prices that hold for a kind on a day, and what lacks one.

    Queries: 5.
    """
    prices = prices_for(kind, day=day)
    varieties = list(Variety.objects.order_by("name"))
    return PriceTable(
        lacks=lacking(prices),
        varieties=shortened(
            PriceRow(one.name, one.pk, "", cells_of(prices, variety=one.pk)) for one in varieties
        ),
        groups=shortened(
            PriceRow(group, None, group, cells_of(prices, group=group)) for group in SALE_GROUPS
        ),
        own=own_prices(prices),
        tax=TaxRate.objects.filter(first_day__lte=day).order_by("-first_day", "-pk").first(),
    )


def cells_of(prices: PriceList, *, variety: int | None = None, group: str = "") -> list[Cell]:
    """Return a row's prices, the one for any size first."""
    return [
        Cell(size, prices.book.get(Target(variety=variety, group=group, size=size)))
        for size in (ANY_SIZE, *SIZES)
    ]


def shortened(rows: Iterable[PriceRow]) -> list[PriceRow]:
    """Leave the place for any size out of rows none of which has such a price."""
    kept = list(rows)
    if any(cell.offer for row in kept for cell in row.cells if cell.size == ANY_SIZE):
        return kept
    return [
        replace(row, cells=[cell for cell in row.cells if cell.size != ANY_SIZE]) for row in kept
    ]


def lacking(prices: PriceList) -> list[Lack]:
    """Return what is for sale and has no price, each variety and size once.

    Queries: 1.
    """
    own = [target.frag for target in prices.book if target.frag is not None]
    rows = (
        saleable_frags()
        .exclude(pk__in=own)
        .order_by("variety__name", "size", "heads")
        .values_list("variety", "variety__name", "variety__group", "size", "heads")
        .distinct()
    )
    found: dict[tuple[int, str], Lack] = {}
    for variety, name, group, size, heads in rows:
        try:
            choose_price(
                prices.book, Wanted(None, variety, name, group, size, heads), kind=prices.kind
            )
        except PriceMissing as error:
            found.setdefault((variety, size), Lack(variety, name, size, error.message))
    return list(found.values())


def own_prices(prices: PriceList) -> list[OwnPrice]:
    """Return the frags with prices of their own.

    Queries: 1.
    """
    offers = {target.frag: offer for target, offer in prices.book.items() if target.frag}
    frags = Frag.objects.select_related("variety").filter(pk__in=offers).order_by("variety__name")
    return [OwnPrice(show_code(frag.code_id), frag.variety.name, offers[frag.pk]) for frag in frags]
