"""Writing events of racks: the only way in which the present of a rack changes."""

from collections.abc import Mapping
from typing import Any

from django.db.models import F

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.stock.actions.log import When, when
from fraginv.stock.models import Rack, RackEvent
from fraginv.stock.rules.racks import LOOKED_AT, RackKind


def note_rack(
    rack: Rack,
    kind: RackKind,
    *,
    by: Person,
    body: Mapping[str, Any],
    moment: When | None = None,
    **columns: Any,
) -> RackEvent:
    """Write the next event of a rack, and its row if nobody changed it since it was read.

    Args: ``columns`` of the row that change besides the day on which it was seen.
    Raises: Conflict where somebody was faster.
    Queries: 2.
    """
    moment = moment or when()
    if kind in LOOKED_AT:
        columns["seen_on"] = max(moment.day, rack.seen_on or moment.day)
    rows = Rack.objects.filter(pk=rack.pk, last_seq=rack.last_seq)
    if not rows.update(last_seq=F("last_seq") + 1, **columns):
        raise Conflict(f"Somebody else has just done something with {rack}. Look at it again.")
    return RackEvent.objects.create(
        rack=rack,
        seq=rack.last_seq + 1,
        kind=kind.value,
        at=moment.at,
        recorded_at=clock.now(),
        day=moment.day,
        by=by,
        body=dict(body),
    )
