"""Stop-sales, and whether one holds for a frag."""

from collections.abc import Collection, Iterable
from typing import Final

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Subquery

from fraginv.base.errors import NotFound
from fraginv.base.queries.looking import OneOf
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.tallies import NOW, Tallies
from fraginv.stock.models import Colony, Frag, FragEvent, Rack, StopSale, System, Trough, Variety
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stops import Water, WaterStop
from fraginv.stock.rules.tallies import HOLDING

ALONG: Final = ("system", "trough__system", "colony__variety", "variety", "genus", "by")


def stops() -> QuerySet[StopSale]:
    """Return the stop-sales that hold now, the latest first, with what they concern.

    Queries: none until it is read, then 1.
    """
    return StopSale.objects.filter(ended_at__isnull=True).select_related(*ALONG)


def stop_tallies() -> Tallies:
    """Return how many stop-sales hold now, counted.

    Queries: 1.
    """
    return Tallies({(NOW, HOLDING): StopSale.objects.filter(ended_at__isnull=True).count()})


def ended_stops(*, size: int, after: int | None = None) -> Portion[StopSale]:
    """Return a page of the stop-sales that have ended, the latest first.

    Args: ``after`` the id of the last one on the page before.
    Raises: NotFound for one that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = StopSale.objects.filter(ended_at__isnull=False).select_related(*ALONG)
    return portion_of(rows, order=["-pk"], size=size, after=after)


def get_stop(stop_id: int) -> StopSale:
    """Return a stop-sale with what it concerns, who made it and who ended it.

    Raises: NotFound.
    Queries: 1.
    """
    rows = StopSale.objects.select_related(*ALONG, "ended_by")
    found = rows.filter(pk=stop_id).first()
    if found is None:
        raise NotFound("There is no such stop-sale. Look at the list of them.")
    return found


def stops_in_water(trough: Trough) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for all that stands in a trough, the latest first.

    Queries: none until it is read, then 1.
    """
    return stops().filter(Q(trough=trough.pk) | Q(system=trough.system_id))


def stops_of_waters(waters: Collection[Water]) -> list[WaterStop]:
    """Return the stop-sales that hold for all that stands in one of some waters.

    Queries: 1, or none for no water.
    """
    if not waters:
        return []
    troughs = {water.trough for water in waters if water.trough is not None}
    systems = {water.system for water in waters if water.system is not None}
    found = StopSale.objects.filter(ended_at__isnull=True).order_by("pk")
    rows = found.filter(Q(trough__in=troughs) | Q(system__in=systems))
    return [WaterStop(*row) for row in rows.values_list("id", "reason", "trough", "system")]


def stop_in_quarantines(frags: Iterable[Frag]) -> StopSale | None:
    """Return a stop-sale that holds in the quarantine of one of some frags, or None.

    One of a trough holds for all its water; where a frag's rack is not known, any counts.
    Args: ``frags`` with rack and trough fetched along.
    Queries: 1, or none for no frag.
    """
    systems = {frag.rack.trough.system_id if frag.rack else None for frag in frags}
    if not systems:
        return None
    known = Q(system__in=systems - {None}) | Q(trough__system__in=systems - {None})
    anywhere = Q(system__quarantine=True) | Q(trough__system__quarantine=True)
    asked = known | anywhere if None in systems else known
    return StopSale.objects.filter(asked, ended_at__isnull=True).order_by("pk").first()


def stop_left_by(frag_ids: Iterable[int]) -> StopSale | None:
    """Return a stop-sale that still holds in the water one of some frags was taken out of.

    It is told by the events that set them apart.
    Queries: 2, or none for no frag.
    """
    wanted = list(frag_ids)
    if not wanted:
        return None
    events = FragEvent.objects.filter(frag__in=wanted, kind=Kind.SET_APART.value)
    told = [body.get("stops", []) for body in events.values_list("body", flat=True)]
    left = {stop for stops in told for stop in stops}
    return StopSale.objects.filter(pk__in=left, ended_at__isnull=True).order_by("pk").first()


def stops_in_system(system: System) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for a system or one of its troughs, the latest first.

    Queries: none until it is read, then 1.
    """
    return stops().filter(Q(system=system.pk) | Q(trough__system=system.pk))


def stops_of_kind(variety: Variety) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for all of a variety, the latest first.

    Queries: none until it is read, then 1.
    """
    return stops().filter(Q(variety=variety.pk) | Q(genus=variety.genus_id))


def touched_by(stop: StopSale) -> Q:
    """Return the condition that a stop-sale concerns a frag, whether or not it holds still."""
    if stop.system_id:
        return Q(rack__trough__system=stop.system_id)
    if stop.trough_id:
        return Q(rack__trough=stop.trough_id)
    if stop.colony_id:
        return Q(colony=stop.colony_id)
    if stop.variety_id:
        return Q(variety=stop.variety_id)
    varieties = Variety.objects.filter(genus=stop.genus_id).order_by().values("pk")
    return Q(OneOf(F("variety"), Subquery(varieties)))


def stops_of(frag: Frag) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for a frag, the latest first.

    Queries: none until it is read, then 1.
    """
    trough = Rack.objects.filter(pk=frag.rack_id or 0).values("trough")
    system = Trough.objects.filter(racks=frag.rack_id).values("system")
    genus = Variety.objects.filter(pk=frag.variety_id).values("genus")
    return stops().filter(
        Q(variety=frag.variety_id)
        | Q(colony__isnull=False, colony=frag.colony_id)
        | Q(genus__in=genus)
        | Q(trough__in=trough)
        | Q(system__in=system)
    )


def stops_on(colony: Colony) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for a colony itself, by what it is or where it stands.

    Queries: none until it is read, then 1, where its place and genus were fetched along.
    """
    held = Q(colony=colony) | Q(variety=colony.variety_id) | Q(genus=colony.variety.genus_id)
    if colony.rack is not None:
        trough = colony.rack.trough
        held |= Q(trough=trough) | Q(system=trough.system_id)
    return stops().filter(held)


def asked_of_frag() -> Exists:
    """Return the condition that a stop-sale holds for the frag that is asked about.

    It reaches other tables by single values alone, so that a conditional update may hold it.
    """
    variety = OuterRef(OuterRef("variety"))
    # Without the order of racks, or PostgreSQL would sort the one that is found; and the
    # trough by its key, or it would read all troughs to join them with one rack.
    trough = Rack.objects.filter(pk=OuterRef(OuterRef("rack"))).order_by().values("trough")
    around = Rack.objects.filter(pk=OuterRef(OuterRef(OuterRef("rack")))).order_by()
    system = Trough.objects.filter(pk=Subquery(around.values("trough"))).order_by()
    return Exists(
        StopSale.objects.filter(ended_at__isnull=True)
        .filter(
            Q(variety=OuterRef("variety"))
            | Q(colony=OuterRef("colony"))
            | Q(genus=Subquery(Variety.objects.filter(pk=variety).order_by().values("genus")))
            | Q(trough=Subquery(trough))
            | Q(system=Subquery(system.values("system")))
        )
        .order_by()
    )


STOPPED: Final = asked_of_frag()
