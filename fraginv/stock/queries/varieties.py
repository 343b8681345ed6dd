"""Reading varieties for lists and choices."""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from typing import Final

from django.db.models import Q, QuerySet

from fraginv.base.errors import InputError, NotFound
from fraginv.base.queries.words import first_named
from fraginv.stock.models import Variety
from fraginv.stock.rules.ready import Least, Pace
from fraginv.taxa.rules import normalise_group

KIND: Final = "variety"


def varieties() -> QuerySet[Variety]:
    """Return all varieties with their genus, by name.

    Queries: none until it is read, then 1.
    """
    return Variety.objects.select_related("genus").order_by("name")


def varieties_like(text: str) -> QuerySet[Variety]:
    """Return the first hundred varieties whose own, genus' or species' words begin so.

    Those of a group so named are all there.

    Queries: 1, and 1 when it is read.
    """
    condition = Q(pk__in=first_named(text, kind=KIND))
    with suppress(InputError):
        condition |= Q(group=normalise_group(" ".join(text.split())))
    return varieties().filter(condition)


def names_of(rows: Iterable[Variety]) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the id of each variety read with its genus, and what it is found by."""
    for variety in rows:
        yield variety.pk, (variety.name, variety.genus.name, variety.species)


def pace_of(variety: Variety) -> Pace:
    """Return how fast frags of a variety heal and grow."""
    return Pace(
        variety.group,
        heal_days=variety.heal_days,
        ready_days=variety.ready_days,
        see_days=variety.see_days,
    )


def least_of(variety: Variety) -> Least:
    """Return the least size or heads at which frags of a variety are sold."""
    return Least(variety.ready_size, variety.ready_heads, variety.ready_mm)


def get_variety(variety_id: int) -> Variety:
    """Return a variety with its genus.

    Raises: NotFound.
    Queries: 1.
    """
    found = varieties().filter(pk=variety_id).first()
    if found is None:
        raise NotFound("There is no such variety.")
    return found
