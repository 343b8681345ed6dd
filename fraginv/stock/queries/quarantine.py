"""What is in quarantine or set apart, and what may leave."""

from collections.abc import Iterable
from datetime import date, timedelta

from django.db.models import Q, QuerySet

from fraginv.stock.models import Colony, ColonyEvent, Frag, FragEvent, Rack, System
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.colonies import ColonyKind
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.quarantine import Stay


def stays_of(frags: Iterable[Frag]) -> dict[int, Stay]:
    """Return how each of the frags that are in quarantine has done there, by its id.

    Queries: 1, or none where none is in quarantine; 1 more where nobody knows where one stands.
    """
    there = [frag for frag in frags if frag.quarantined]
    if not there:
        return {}
    racks = Rack.objects.filter(pk__in={frag.rack_id for frag in there})
    waters: dict[int | None, System] = {
        rack.pk: rack.trough.system for rack in racks.select_related("trough__system")
    }
    if any(frag.rack_id is None for frag in there):
        waters[None] = strictest(quarantine_waters())
    return {frag.pk: stay_of(frag, water=waters[frag.rack_id]) for frag in there}


def quarantine_waters() -> QuerySet[System]:
    """Return the systems that are quarantine, those that were withdrawn too.

    Queries: none until it is read, then 1.
    """
    return System.objects.filter(quarantine=True)


def strictest(waters: Iterable[System]) -> System:
    """Return what holds for something in quarantine of which nobody knows where it stands.

    It is the most that any of the waters asks.
    Queries: those of reading the waters.
    """
    known = [System(), *waters]
    return System(
        least_days=max(water.least_days for water in known),
        clean_checks=max(water.clean_checks for water in known),
    )


def stay_of(frag: Frag, *, water: System) -> Stay:
    """Return how a frag has done in a water of quarantine.

    Queries: none.
    """
    since = frag.quarantined_on or frag.cut_on
    return Stay(since, frag.clean_checks, water.least_days, water.clean_checks)


def since_in(system: System, *, colony: Colony) -> date:
    """Return since when a colony has stood in a system, as its log of moves says.

    A move says which systems they were; one that was written down before they were kept says
    only the racks, and is judged by where those are now.
    Queries: 1, and 1 where it was moved before systems were kept.
    """
    moves = ColonyEvent.objects.filter(colony=colony, kind=ColonyKind.MOVED.value).order_by("-pk")
    told = list(moves.values_list("day", "body"))
    racks = {body.get("from") for _, body in told if "from_system" not in body} - {None}
    waters: dict[int | None, int] = {}
    if racks:
        waters |= Rack.objects.filter(pk__in=racks).values_list("pk", "trough__system")
    for day, body in told:
        if body.get("from_system", waters.get(body.get("from"))) != system.pk:
            return day
    return colony.acquired_on


def quarantined() -> Q:
    """Return the condition that a frag lives in quarantine, as the index of those has it."""
    return LIVES & Q(quarantined=True)


def may_leave(*, today: date) -> Q:
    """Return the condition that a frag has been in quarantine long and clean enough.

    Queries: 1.
    """
    waters = list(quarantine_waters())
    found = Q(rack__isnull=True) & done_in(strictest(waters), today=today)
    for water in waters:
        found |= Q(rack__trough__system=water.pk) & done_in(water, today=today)
    return found


def done_in(water: System, *, today: date) -> Q:
    """Return the condition that a frag has done what one water asks."""
    last = today - timedelta(days=water.least_days)
    return Q(quarantined_on__lte=last, clean_checks__gte=water.clean_checks)


def set_apart_since(frag_ids: Iterable[int]) -> dict[int, tuple[date, str]]:
    """Return since when frags are apart, and why, as the last event says that set each apart.

    Queries: 1.
    """
    rows: QuerySet[FragEvent] = FragEvent.objects.filter(
        frag__in=list(frag_ids), kind=Kind.SET_APART.value
    ).order_by("frag_id", "seq")
    return {
        frag: (day, body.get("reason", ""))
        for frag, day, body in rows.values_list("frag_id", "day", "body")
    }
