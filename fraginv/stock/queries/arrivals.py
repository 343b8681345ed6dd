"""Reading what came in from elsewhere."""

from django.db.models import QuerySet

from fraginv.base.errors import NotFound
from fraginv.stock.models import Arrival
from fraginv.stock.queries.frags import living_of


def arrivals() -> QuerySet[Arrival]:
    """Return all arrivals with supplier, who wrote them down, and how many frags still live.

    Queries: none until it is read, then 1.
    """
    return Arrival.objects.select_related("supplier", "by").annotate(living=living_of("arrival"))


def get_arrival(arrival_id: int) -> Arrival:
    """Return an arrival.

    Raises: NotFound.
    Queries: 1.
    """
    found = arrivals().filter(pk=arrival_id).first()
    if found is None:
        raise NotFound("There is no such arrival.")
    return found
