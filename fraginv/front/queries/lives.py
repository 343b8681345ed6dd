"""Where sold frags stood, read from their logs and from the moves of racks."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from itertools import groupby

from fraginv.front.rules.whereabouts import Life, RackMove, Told, Waters, life_of
from fraginv.stock.models import FragEvent, Rack, RackEvent, StopSale, Trough
from fraginv.stock.queries.tallies import UNFOLLOWED
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.racks import RackKind

PORTION = 500


def lives_of(frag_ids: Iterable[int]) -> dict[int, Life]:
    """Return where frags stood, and where those stood from which pieces came into them.

    A log that cannot be followed is left out.
    Queries: 1 per 500 frags, and as many for each generation of parts before them.
    """
    found: dict[int, Life] = {}
    asked, wanted = set[int](), set(frag_ids)
    while wanted:
        asked |= wanted
        for portion in portions(sorted(wanted)):
            found |= read_lives(portion)
        before = (other.place for one in wanted & set(found) for other in found[one].others)
        wanted = set(before) - asked
    return found


def portions(ids: list[int]) -> Iterable[list[int]]:
    """Yield ids, so many at a time as a statement takes."""
    for start in range(0, len(ids), PORTION):
        yield ids[start : start + PORTION]


def read_lives(frag_ids: list[int]) -> dict[int, Life]:
    """Return where a portion of frags stood.

    Queries: 1.
    """
    rows = FragEvent.objects.filter(frag__in=frag_ids).order_by("frag_id", "seq")
    told = rows.values_list("frag_id", "kind", "day", "body", "at")
    found: dict[int, Life] = {}
    for frag, log in groupby(told, key=lambda row: row[0]):
        try:
            found[frag] = life_of(
                Told(at, Happening(Kind(kind), day, body)) for _, kind, day, body, at in log
            )
        except UNFOLLOWED:
            continue
    return found


def waters_of(stop: StopSale, *, lives: Iterable[Life], since: date) -> Waters:
    """Return in which troughs the racks of lives stood since a day, and those of a stop-sale.

    Queries: 3.
    """
    racks = {stay.place for life in lives for stay in life.stays}
    moves: dict[int, list[RackMove]] = defaultdict(list)
    rows = RackEvent.objects.filter(day__gte=since, kind=RackKind.MOVED.value)
    for rack, at, body in rows.order_by("rack_id", "-seq").values_list("rack_id", "at", "body"):
        if rack in racks:
            moves[rack].append(RackMove(at, body["from"]))
    stands = dict(Rack.objects.filter(pk__in=racks).values_list("pk", "trough_id"))
    troughs = Trough.objects.filter(system=stop.system_id) if stop.system_id else None
    asked = troughs.values_list("pk", flat=True) if troughs is not None else [stop.trough_id]
    return Waters(stands, moves, frozenset(pk for pk in asked if pk is not None))
