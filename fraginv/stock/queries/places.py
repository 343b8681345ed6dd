"""Reading systems, troughs and racks."""

from collections.abc import Iterable, Iterator
from typing import Final

from django.db.models import Prefetch, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Rack, System, Trough
from fraginv.stock.queries.frags import living_of

SYSTEM: Final = "system"
TROUGH: Final = "trough"
RACK: Final = "rack"
Named = tuple[int, tuple[str, ...]]


def racks() -> QuerySet[Rack]:
    """Return all racks with trough and system, in the order in which one walks past them.

    Queries: none until it is read, then 1.
    """
    return Rack.objects.select_related("trough__system").order_by(
        "trough__system__name", "trough__name", "name"
    )


def names_of_systems(rows: Iterable[System]) -> Iterator[Named]:
    """Yield the id of each system, and what it is found by."""
    for system in rows:
        yield system.pk, (system.name,)


def names_of_troughs(rows: Iterable[Trough]) -> Iterator[Named]:
    """Yield the id of each trough read with its system, and what it is found by."""
    for trough in rows:
        yield trough.pk, (trough.name, trough.system.name)


def names_of_racks(rows: Iterable[Rack]) -> Iterator[Named]:
    """Yield the id of each rack read with trough and system, and what it is found by."""
    for rack in rows:
        yield rack.pk, (rack.name, rack.trough.name, rack.trough.system.name)


def quarantine_racks() -> QuerySet[Rack]:
    """Return the racks of systems that share no water with the display.

    Queries: none until it is read, then 1.
    """
    return racks().filter(trough__system__quarantine=True)


def rack_by_code(code: str) -> Rack:
    """Return the rack that carries a code.

    Raises: NotFound.
    Queries: 1.
    """
    found = racks().filter(code_id=code).first()
    if found is None:
        raise NotFound(f"{show_code(code)} is not a rack.", code=code)
    return found


def get_system(system_id: int) -> System:
    """Return a system.

    Raises: NotFound.
    Queries: 1.
    """
    found = System.objects.filter(pk=system_id).first()
    if found is None:
        raise NotFound("There is no such system.")
    return found


def get_trough(trough_id: int) -> Trough:
    """Return a trough with its system.

    Raises: NotFound.
    Queries: 1.
    """
    found = Trough.objects.select_related("system").filter(pk=trough_id).first()
    if found is None:
        raise NotFound("There is no such trough.")
    return found


def places() -> QuerySet[System]:
    """Return all systems with their troughs, and their racks with how many living frags.

    Each rack has ``living``.
    Queries: none until it is read, then 3.
    """
    counted = Rack.objects.order_by("name").annotate(living=living_of("rack"))
    troughs = Trough.objects.order_by("name").prefetch_related(Prefetch("racks", queryset=counted))
    return System.objects.order_by("quarantine", "name").prefetch_related(
        Prefetch("troughs", queryset=troughs)
    )
