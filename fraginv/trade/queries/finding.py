"""Finding customers by what one knows of them, and sales by the number of a paper."""

import re
from collections.abc import Iterable, Iterator
from typing import Final

from django.db.models import Q, QuerySet

from fraginv.base.queries.words import first_named
from fraginv.trade.models import Credit, Customer, Payment, Sale
from fraginv.trade.rules.words import CREDIT_SERIES, LOADED_PAYMENT_SERIES, PAYMENT_SERIES

KIND: Final = "customer"
PAPER: Final = re.compile(r"([A-Z]{1,4})[- ]?(20\d\d)[- ](\d{1,9})")


def customers_like(text: str) -> QuerySet[Customer]:
    """Return customers in whose name, contact or address words begin so, a hundred at most.

    Queries: 1, and 1 when it is read.
    """
    return customers_with(first_named(text, kind=KIND))


def customers_with(ids: Iterable[int]) -> QuerySet[Customer]:
    """Return customers by their ids with party and kind, by name.

    Queries: none until it is read, then 1, or none where there are no ids.
    """
    rows = Customer.objects.select_related("party", "kind").filter(pk__in=list(ids))
    return rows.order_by("party__name", "pk")


def names_of(rows: Iterable[Customer]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the id of each customer read with the party, and what it is found by."""
    for customer in rows:
        party = customer.party
        yield customer.pk, (party.name, party.contact, party.email)


def sale_of_paper(text: str) -> int | None:
    """Return the id of the sale that a paper's number names, or that its payment or credit is of.

    Queries: 1 where the text looks like a number, else none.
    """
    read = PAPER.fullmatch(" ".join(text.upper().split()))
    if read is None:
        return None
    series = read.group(1)
    named = Q(series=series, year=int(read.group(2)), number=int(read.group(3)))
    if series == CREDIT_SERIES:
        return Credit.objects.filter(named).values_list("sale_id", flat=True).first()
    if series in {PAYMENT_SERIES, LOADED_PAYMENT_SERIES}:
        return Payment.objects.filter(named).values_list("sale_id", flat=True).first()
    return Sale.objects.filter(named).values_list("pk", flat=True).first()
