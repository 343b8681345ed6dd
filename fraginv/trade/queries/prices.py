"""Reading prices and tax rates."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final, Literal

from django.db.models import F, Q, QuerySet, Window
from django.db.models.functions import RowNumber

from fraginv.base.errors import InputError, NotFound
from fraginv.base.queries.prepared import Prepared
from fraginv.stock.models import Frag
from fraginv.trade.models import Customer, CustomerKind, Price, TaxRate
from fraginv.trade.rules.certificates import covers
from fraginv.trade.rules.prices import (
    Chosen,
    Offer,
    PriceMissing,
    Target,
    Wanted,
    choose_price,
    price_book,
)
from fraginv.trade.rules.words import RETAIL, Unit

PRICED: Final = ("frag", "variety", "group", "size", "amount", "unit", "first_day")


@dataclass(frozen=True)
class PriceList:
    """All prices that hold for one kind of customer on one day; asking it costs no query."""

    kind: str
    day: date
    book: Mapping[Target, Offer]

    def choose(self, frag: Frag) -> Chosen:
        """Return the price of one piece of a frag that was read with its variety.

        Raises: PriceMissing.
        """
        return choose_price(self.book, wanted_of(frag), kind=self.kind)

    def find(self, frag: Frag) -> Chosen | None:
        """Return the price of one piece of a frag, or None where it has none."""
        try:
            return self.choose(frag)
        except PriceMissing:
            return None


@dataclass(frozen=True)
class Taxed:
    """The tax of a sale: name, rate and basis, and the certificate that lifts it."""

    name: str
    rate: Decimal
    basis: Literal["item", "invoice"]
    exempt_by: str


def wanted_of(frag: Frag) -> Wanted:
    """Return what decides a frag's price.

    Queries: 1 unless the variety was fetched along.
    """
    return Wanted(
        frag=frag.pk,
        variety=frag.variety_id,
        variety_name=frag.variety.name,
        group=frag.variety.group,
        size=frag.size,
        heads=frag.heads,
    )


def prices_for(kind: CustomerKind, *, day: date) -> PriceList:
    """Return the prices of a kind of customer on a day, to ask for many frags.

    Own prices of frags that have left the troughs are not in it.
    Queries: 1, which brings the price in force of each target and not what was before.
    """
    return price_list(in_force(Price.objects.filter(kind=kind), day), kind=kind.name, day=day)


def in_force(prices: QuerySet[Price], day: date) -> QuerySet[Any, Any]:
    """Return the question for what holds on a day, of each target the latest."""
    place = Window(
        RowNumber(),
        partition_by=[F("frag"), F("variety"), F("group"), F("size")],
        order_by=[F("first_day").desc(), F("pk").desc()],
    )
    return (
        prices.filter(Q(frag__isnull=True) | Q(frag__ended_on__isnull=True))
        .filter(first_day__lte=day)
        .annotate(place=place)
        .filter(place=1)
        .order_by("pk")
        .values_list(*PRICED)
    )


def price_list(rows: Iterable[tuple[Any, ...]], *, kind: str, day: date) -> PriceList:
    """Return a list of prices from their rows, in the order in which they were set."""
    book = price_book(
        (
            (Target(frag, variety, group, size), Offer(amount, Unit(unit), first_day))
            for frag, variety, group, size, amount, unit, first_day in rows
        ),
        day=day,
    )
    return PriceList(kind=kind, day=day, book=book)


RETAIL_ALL: Prepared[tuple[Any, ...]] = Prepared(
    lambda day: in_force(Price.objects.filter(kind__name__iexact=RETAIL), day), date
)
RETAIL_OF_FRAG: Prepared[tuple[Any, ...]] = Prepared(
    lambda frag, variety, group: (
        Price.objects.filter(Q(frag=frag) | Q(variety=variety) | Q(group=group))
        .filter(kind__name__iexact=RETAIL)
        .order_by("pk")
        .values_list(*PRICED)
    ),
    int,
    int,
    str,
)


def retail_prices(*, day: date) -> PriceList:
    """Return what visitors pay on a day, to ask for many frags.

    Queries: 1.
    """
    return price_list(RETAIL_ALL.answer(day), kind=RETAIL, day=day)


def retail_price(frag: Frag, *, day: date) -> Chosen | None:
    """Return what a visitor pays for one piece on a day, without tax, where there is a price.

    Queries: 1, which brings the prices of this frag, its variety and its group alone.
    """
    rows = RETAIL_OF_FRAG.answer(frag.pk, frag.variety_id, frag.variety.group)
    return price_list(rows, kind=RETAIL, day=day).find(frag)


def price_of(frag: Frag, *, kind: CustomerKind, day: date) -> Chosen:
    """Return the price of one piece of one frag.

    Raises: PriceMissing.
    Queries: 1.
    """
    return prices_for(kind, day=day).choose(frag)


def get_kind(name: str = RETAIL) -> CustomerKind:
    """Return a kind of customer by its name.

    Raises: NotFound naming the kinds there are.
    Queries: 1, and 1 more when there is none.
    """
    found = CustomerKind.objects.filter(name__iexact=name.strip()).first()
    if found is None:
        known = ", ".join(CustomerKind.objects.values_list("name", flat=True))
        raise NotFound(f"There is no kind of customer {name!r}. There are: {known}.")
    return found


def tax_rate_on(day: date) -> TaxRate:
    """Return the tax rate in force on a day.

    Raises: InputError where none is; nobody guesses a tax.
    Queries: 1.
    """
    found = TaxRate.objects.filter(first_day__lte=day).order_by("-first_day", "-pk").first()
    if found is None:
        raise InputError(
            f"No sales tax rate is in force on {day}. Set one under Prices, sales tax; "
            "write 0 where none is due."
        )
    return found


def tax_of(customer: Customer | None, *, day: date) -> Taxed:
    """Return the tax on a sale to a customer; none where a certificate covers the day.

    Raises: InputError where no rate is in force.
    Queries: 1.
    """
    rate = tax_rate_on(day)
    basis: Literal["item", "invoice"] = "item" if rate.basis == "item" else "invoice"
    if customer is not None and covers(customer.certificate, day):
        return Taxed(rate.name, Decimal(0), basis, customer.certificate.shown)
    return Taxed(rate.name, rate.rate, basis, "")
