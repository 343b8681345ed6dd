"""Reading varieties for lists and choices."""

from contextlib import suppress

from django.db.models import Q, QuerySet

from fraginv.base.errors import InputError, NotFound
from fraginv.stock.models import Variety
from fraginv.taxa.rules import normalise_group


def varieties() -> QuerySet[Variety]:
    """Return all varieties with their genus, by name.

    Queries: none until it is read, then 1.
    """
    return Variety.objects.select_related("genus").order_by("name")


def varieties_like(text: str) -> QuerySet[Variety]:
    """Return varieties whose own, genus' or species' name holds what was typed, or of that group.

    Queries: none until it is read, then 1.
    """
    wanted = " ".join(text.split())
    condition = (
        Q(name__icontains=wanted) | Q(genus__name__icontains=wanted) | Q(species__icontains=wanted)
    )
    with suppress(InputError):
        condition |= Q(group=normalise_group(wanted))
    return varieties().filter(condition)


def get_variety(variety_id: int) -> Variety:
    """Return a variety with its genus.

    Raises: NotFound.
    Queries: 1.
    """
    found = varieties().filter(pk=variety_id).first()
    if found is None:
        raise NotFound("There is no such variety.")
    return found
