"""Reading systems, troughs and racks."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.codes import show_code
from fraginv.stock.models import Colony, Rack, System, Trough
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries.frags import living_of, living_pieces_of
from fraginv.stock.rules.colonies import State

SYSTEM: Final = "system"
TROUGH: Final = "trough"
RACK: Final = "rack"
TROUGHS: Final = 20
WALK: Final = ("system__quarantine", "system__name", "system", "name", "pk")
Named = tuple[int, tuple[str, ...]]


def every_rack() -> QuerySet[Rack]:
    """Return all racks that there ever were with trough and system, in the order of a walk.

    Queries: none until it is read, then 1.
    """
    return Rack.objects.select_related("trough__system").order_by(
        "trough__system__name", "trough__name", "name"
    )


def racks() -> QuerySet[Rack]:
    """Return the racks in use with trough and system, in the order in which one walks past them.

    Queries: none until it is read, then 1.
    """
    return every_rack().filter(IN_USE)


def troughs() -> QuerySet[Trough]:
    """Return the troughs in use with their systems, in the order of a walk.

    Queries: none until it is read, then 1.
    """
    rows = Trough.objects.filter(IN_USE).select_related("system")
    return rows.order_by("system__name", "name")


def names_of_systems(rows: Iterable[System]) -> Iterator[Named]:
    """Yield the id of each system, and what it is found by: nothing once withdrawn."""
    for system in rows:
        yield system.pk, () if system.withdrawn_on else (system.name,)


def names_of_troughs(rows: Iterable[Trough]) -> Iterator[Named]:
    """Yield the id of each trough read with its system, and what it is found by, as a system."""
    for trough in rows:
        yield trough.pk, () if trough.withdrawn_on else (trough.name, trough.system.name)


def names_of_racks(rows: Iterable[Rack]) -> Iterator[Named]:
    """Yield the id of each rack read with trough and system, and what it is found by, as both."""
    for rack in rows:
        names = (rack.name, rack.trough.name, rack.trough.system.name)
        yield rack.pk, () if rack.withdrawn_on else names


def quarantine_racks() -> QuerySet[Rack]:
    """Return the racks of systems that share no water with the display.

    Queries: none until it is read, then 1.
    """
    return racks().filter(trough__system__quarantine=True)


def rack_by_code(code: str) -> Rack:
    """Return the rack that carries a code, also one that was withdrawn.

    Raises: NotFound.
    Queries: 1.
    """
    found = every_rack().filter(code_id=code).first()
    if found is None:
        raise NotFound(f"{show_code(code)} is not a rack.", code=code)
    return found


def colonies_in(rack: Rack) -> QuerySet[Colony]:
    """Return the colonies that live in a rack.

    Queries: none until it is read, then 1.
    """
    return Colony.objects.filter(rack=rack.pk, state=State.LIVING.value)


def get_system(system_id: int) -> System:
    """Return a system.

    Raises: NotFound.
    Queries: 1.
    """
    found = System.objects.filter(IN_USE, pk=system_id).first()
    if found is None:
        raise NotFound("There is no such system.")
    return found


def get_trough(trough_id: int) -> Trough:
    """Return a trough with its system.

    Raises: NotFound.
    Queries: 1.
    """
    found = Trough.objects.select_related("system").filter(IN_USE, pk=trough_id).first()
    if found is None:
        raise NotFound("There is no such trough.")
    return found


def waters() -> QuerySet[System]:
    """Return all systems in use with their troughs, by name, those of quarantine last.

    Queries: none until it is read, then 2.
    """
    there = Trough.objects.filter(IN_USE).order_by("name")
    systems = System.objects.filter(IN_USE).order_by("quarantine", "name")
    return systems.prefetch_related(Prefetch("troughs", queryset=there))


def trough_page(*, after: int | None, system: System | None = None) -> Portion[Trough]:
    """Return a page of the troughs in use with system and racks, in the order of a walk.

    Each rack has ``living`` and ``living_pieces``, how many frags and pieces live in it.
    Args: ``system`` that they are in, all unless given.
    Raises: NotFound for a page that is not there.
    Queries: 2, and 1 more from the second page on.
    """
    counted = Rack.objects.filter(IN_USE).order_by("name", "pk")
    counted = counted.annotate(living=living_of("rack"), living_pieces=living_pieces_of("rack"))
    rows = Trough.objects.filter(IN_USE).select_related("system")
    rows = rows.prefetch_related(Prefetch("racks", queryset=counted))
    if system is not None:
        rows = rows.filter(system=system.pk)
    return portion_of(rows, order=WALK, size=TROUGHS, after=after)


def systems_on(page: Portion[Trough]) -> list[tuple[System, list[Trough]]]:
    """Return a page of troughs by their systems; on the last one those without a trough as well.

    Queries: 1 on the last page.
    """
    found = [(system, list(here)) for system, here in groupby(page.rows, lambda one: one.system)]
    if page.after is None:
        used = Trough.objects.filter(IN_USE, system=OuterRef("pk"))
        bare = System.objects.filter(~Exists(used), IN_USE).order_by("quarantine", "name")
        found += [(system, []) for system in bare]
    return found


@dataclass(frozen=True)
class ToChoose:
    """Places to choose from, by name: systems and troughs by their ids, racks by their codes."""

    systems: Sequence[tuple[int, str]]
    troughs: Sequence[tuple[int, str]]
    racks: Sequence[tuple[str, str]]


def places_to_choose(*, most: int) -> ToChoose:
    """Return places to choose from; none of a kind that has too many.

    A system without a trough holds nothing and is left out.
    Queries: 2, and 1 more where there are too many troughs.
    """
    rows = Trough.objects.order_by("system__name", "name").select_related("system")
    troughs = list(rows[: most + 1])
    systems = {trough.system_id: trough.system.name for trough in troughs}
    if len(troughs) > most:
        found = System.objects.order_by("name").values_list("pk", "name")
        systems, troughs = dict(found[: most + 1]), []
    walk = [(rack.code_id, f"{rack.trough.system.name}: {rack}") for rack in racks()[: most + 1]]
    return ToChoose(
        systems=list(systems.items()) if len(systems) <= most else [],
        troughs=[(trough.pk, f"{trough.name} ({trough.system.name})") for trough in troughs],
        racks=walk if len(walk) <= most else [],
    )
