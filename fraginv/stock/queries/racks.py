"""Reading racks: what stands in them, when they were last seen and by whom."""

from collections.abc import Iterable, Mapping

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from fraginv.base.errors import NotFound
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.stock.models import Rack, RackEvent
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.places import every_rack
from fraginv.stock.rules.racks import LOOKED_AT, SHIFTED, RackState, follow_rack

LOOKED = [kind.value for kind in LOOKED_AT]


def get_rack(rack_id: int) -> Rack:
    """Return a rack with trough and system, also one that was withdrawn.

    Raises: NotFound.
    Queries: 1.
    """
    found = every_rack().filter(pk=rack_id).first()
    if found is None:
        raise NotFound("There is no such rack.")
    return found


def rack_to_draw(code: str, *, also: Mapping[str, Exists] | None = None) -> Rack:
    """Return a rack by its code, with who last looked at all in it.

    Args: ``also`` what a floor above wants to know of it, by the name it gets.
    Raises: NotFound.
    Queries: 1.
    """
    rows = with_last_look(every_rack().filter(code_id=code))
    found = rows.annotate(**(also or {})).first()
    if found is None:
        raise NotFound(f"{show_code(code)} is not a rack.", code=code)
    return found


def stands_in(rack: Rack) -> Q:
    """Return the condition that a frag lives in a rack."""
    return Q(LIVES, rack=rack.pk)


def with_last_look(rows: QuerySet[Rack]) -> QuerySet[Rack]:
    """Return racks with ``seen_at`` and ``seen_by``, when and by whom each was last looked at.

    Queries: none of its own.
    """
    looks = RackEvent.objects.filter(rack=OuterRef("pk"), kind__in=LOOKED).order_by("-seq")
    return rows.annotate(
        seen_at=Subquery(looks.values("at")[:1]), seen_by=Subquery(looks.values("by__name")[:1])
    )


def who_shifted(rack: Rack, *, since: int) -> RackEvent | None:
    """Return the last event by which a rack was moved, turned or emptied since another one.

    Queries: 1.
    """
    events = RackEvent.objects.select_related("by").filter(rack=rack.pk, seq__gt=since)
    return events.filter(kind__in=[kind.value for kind in SHIFTED]).order_by("-seq").first()


def events_of(rack: Rack) -> QuerySet[RackEvent]:
    """Return what happened to a rack, the latest first, with who did it.

    Queries: none until it is read, then 1.
    """
    return RackEvent.objects.select_related("by").filter(rack=rack.pk).order_by("-seq")


def rack_differences() -> Iterable[Difference]:
    """Yield racks whose row is not what their events say, or whose log has a gap.

    Queries: 2, read in portions.
    """
    told: dict[int, RackState] = {}
    last: dict[int, int] = {}
    events = RackEvent.objects.order_by("rack_id", "seq")
    rows = events.values_list("rack_id", "seq", "kind", "day", "body")
    for rack, seq, kind, day, body in rows.iterator(chunk_size=2000):
        if seq != last.get(rack, 0) + 1:
            yield Difference(f"rack {rack}", f"event {last.get(rack, 0) + 1} is missing")
        last[rack] = seq
        told[rack] = follow_rack(told.get(rack, RackState()), kind=kind, day=day, body=body)
    for one in Rack.objects.order_by("pk").iterator(chunk_size=2000):
        yield from compare_rack(one, told=told.get(one.pk, RackState()), last=last.get(one.pk, 0))


def compare_rack(rack: Rack, *, told: RackState, last: int) -> Iterable[Difference]:
    """Yield each column of a rack that is not what its events say."""
    where = f"rack {rack.code_id}"
    if rack.last_seq != last:
        yield Difference(where, f"its last event is {last}, the row says {rack.last_seq}")
    if rack.seen_on != told.seen_on:
        yield Difference(where, f"seen_on is {rack.seen_on}, its events say {told.seen_on}")
    if rack.turned != bool(told.turned):
        yield Difference(where, f"turned is {rack.turned}, its events say {told.turned}")
    if told.trough is not None and rack.trough_id != told.trough:
        yield Difference(where, f"its trough is {rack.trough_id}, its events say {told.trough}")
