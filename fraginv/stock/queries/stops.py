"""Whether a stop-sale holds for a frag."""

from typing import Final

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from fraginv.stock.models import Frag, Rack, StopSale, Trough, Variety


def stops() -> QuerySet[StopSale]:
    """Return the stop-sales that hold now, the latest first, with what they concern.

    Queries: none until it is read, then 1.
    """
    return StopSale.objects.filter(ended_at__isnull=True).select_related(
        "system", "trough__system", "colony__variety", "variety", "genus", "by"
    )


def stops_of(frag: Frag) -> QuerySet[StopSale]:
    """Return the stop-sales that hold for a frag, the latest first.

    Queries: none until it is read, then 1.
    """
    trough = Rack.objects.filter(pk=frag.rack_id).values("trough")
    system = Trough.objects.filter(racks=frag.rack_id).values("system")
    genus = Variety.objects.filter(pk=frag.variety_id).values("genus")
    return stops().filter(
        Q(variety=frag.variety_id)
        | Q(colony__isnull=False, colony=frag.colony_id)
        | Q(genus__in=genus)
        | Q(trough__in=trough)
        | Q(system__in=system)
    )


def asked_of_frag() -> Exists:
    """Return the condition that a stop-sale holds for the frag that is asked about.

    It reaches other tables by single values alone, so that a conditional update may hold it.
    """
    rack, variety = OuterRef(OuterRef("rack")), OuterRef(OuterRef("variety"))
    return Exists(
        StopSale.objects.filter(ended_at__isnull=True)
        .filter(
            Q(variety=OuterRef("variety"))
            | Q(colony=OuterRef("colony"))
            | Q(genus=Subquery(Variety.objects.filter(pk=variety).values("genus")))
            | Q(trough=Subquery(Rack.objects.filter(pk=rack).values("trough")))
            | Q(system=Subquery(Rack.objects.filter(pk=rack).values("trough__system")))
        )
        .order_by()
    )


STOPPED: Final = asked_of_frag()
