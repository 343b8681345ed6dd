"""Reading varieties, colonies and cuttings."""

from datetime import date

from django.db.models import Exists, F, OuterRef, QuerySet, Sum
from django.db.models.functions import Coalesce

from fraginv.base.errors import NotFound
from fraginv.base.queries.words import things_named
from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Colony, Cutting, Variety
from fraginv.stock.queries.frags import living_of
from fraginv.stock.queries.varieties import KIND


def get_colony(colony_id: int) -> Colony:
    """Return a colony with its variety and genus.

    Raises: NotFound.
    Queries: 1.
    """
    found = colonies().filter(pk=colony_id).first()
    if found is None:
        raise NotFound("There is no such colony.")
    return found


def colony_by_code(code: str) -> Colony:
    """Return the colony that carries a code, with the frag that it was.

    Raises: NotFound.
    Queries: 1.
    """
    found = colonies().select_related("from_frag").filter(code_id=code).first()
    if found is None:
        raise NotFound(f"{show_code(code)} is not a colony.", code=code)
    return found


def colonies() -> QuerySet[Colony]:
    """Return all colonies with variety, genus and place, by the variety's name.

    Queries: none until it is read, then 1.
    """
    return Colony.objects.select_related(
        "code", "variety__genus", "rack__trough__system", "supplier"
    )


def colony_list(*, text: str = "", most: int) -> list[Colony]:
    """Return colonies with ``living``, how many living frags each has, by the variety's name.

    Args: ``text`` is how words of the variety's, genus' or species' name begin; ``most``
        are returned.
    Queries: 2.
    """
    named = Variety.objects.filter(Exists(Colony.objects.filter(variety=OuterRef("pk"))))
    if text:
        named = named.filter(pk__in=things_named(text, kind=KIND))
    # Each has a colony, so the first colonies are among those of the first varieties; to
    # find these an index by name is read as far as it takes, and nothing is sorted.
    first = list(named.order_by("name").values_list("pk", flat=True)[:most])
    rows = colonies().annotate(living=living_of("colony")).filter(variety__in=first)
    return list(rows.order_by("variety__name", "pk")[:most])


def cuttings_of(colony: Colony) -> QuerySet[Cutting]:
    """Return a colony's cuttings, the latest first, with how many frags still live.

    Queries: none until it is read, then 1.
    """
    rows = colony.cuttings.select_related("by").annotate(living=living_of("cutting"))
    return rows.order_by("-day", "-pk")


def taken_on(colony: Colony, *, day: date) -> int:
    """Return how many pieces were cut off a colony on a day, those lost at the bench too.

    Queries: 1.
    """
    told = Cutting.objects.filter(colony=colony, day=day).order_by()
    return int(told.aggregate(taken=Coalesce(Sum(F("pieces") + F("lost")), 0))["taken"])


def get_cutting(cutting_id: int) -> Cutting:
    """Return a cutting with its colony and variety.

    Raises: NotFound.
    Queries: 1.
    """
    found = (
        Cutting.objects.select_related("colony__variety__genus", "by").filter(pk=cutting_id).first()
    )
    if found is None:
        raise NotFound("There is no such cutting.")
    return found


def variety_named(name: str) -> Variety:
    """Return a variety by its name, whatever the capitals.

    Raises: NotFound.
    Queries: 1.
    """
    found = (
        Variety.objects.select_related("genus").filter(name__iexact=" ".join(name.split())).first()
    )
    if found is None:
        raise NotFound(f"There is no variety {name.strip()!r}.")
    return found
