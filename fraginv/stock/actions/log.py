"""Writing events: the only way in which a frag changes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.days import month_of
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.rules.events import Kind


@dataclass(frozen=True)
class When:
    """The moment something happened, its business day and month."""

    at: datetime
    day: date
    month: int


def when(day: date | None = None) -> When:
    """Return now, or noon of another day in the organisation's zone.

    Queries: 1, or none inside a request.
    """
    present = today()
    if day is None or day == present:
        return When(clock.now(), present, month_of(present))
    noon = datetime.combine(day, time(12), ZoneInfo(organisation().zone))
    return When(noon, day, month_of(day))


def event(
    frag: Frag, kind: Kind, *, seq: int, moment: When, by: Person, body: Mapping[str, Any]
) -> FragEvent:
    """Make an event's row without saving it."""
    made = FragEvent(
        frag=frag,
        seq=seq,
        kind=kind.value,
        at=moment.at,
        recorded_at=clock.now(),
        day=moment.day,
        month=moment.month,
        by=by,
        body=dict(body),
    )
    made.digest = made.content_digest()
    return made


def note_first(
    frags: Sequence[Frag],
    kind: Kind,
    *,
    moment: When,
    by: Person,
    bodies: Sequence[Mapping[str, Any]],
) -> None:
    """Write the first event of frags just made.

    Queries: 1 per 500 frags.
    """
    FragEvent.objects.bulk_create(
        [
            event(frag, kind, seq=1, moment=moment, by=by, body=body)
            for frag, body in zip(frags, bodies, strict=True)
        ],
        batch_size=500,
    )


def note(
    frag: Frag, kind: Kind, *, by: Person, body: Mapping[str, Any], moment: When | None = None
) -> FragEvent:
    """Write the next event of a frag whose row this transaction has just moved on.

    The caller's update raised ``last_seq`` by one and holds the row.
    Queries: 2.
    """
    seq = Frag.objects.values_list("last_seq", flat=True).get(pk=frag.pk)
    written = event(frag, kind, seq=seq, moment=moment or when(), by=by, body=body)
    written.save(force_insert=True)
    return written
