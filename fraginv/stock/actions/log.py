"""Writing events: the only way in which a frag changes."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from fraginv.base import clock
from fraginv.base.actions.tallies import add_to_tallies
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation, today
from fraginv.base.rules.days import business_day, month_of
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.rules.happenings import FragState, Kind
from fraginv.stock.rules.tallies import before_claimed, tallies_of


@dataclass(frozen=True)
class When:
    """The moment something happened, its business day and month."""

    at: datetime
    day: date
    month: int


happened: ContextVar[datetime | None] = ContextVar("happened", default=None)


@contextmanager
def happening_at(moment: datetime) -> Iterator[None]:
    """Let what actions inside write down have happened at a moment that has passed.

    For what was done while nothing could be recorded, such as scans without a network;
    when it was recorded is kept beside it.
    """
    token = happened.set(moment)
    try:
        yield
    finally:
        happened.reset(token)


def when(day: date | None = None) -> When:
    """Return now, or noon of another day in the organisation's zone.

    Inside ``happening_at`` it is that moment which counts as now.
    Queries: 1, or none inside a request.
    """
    moment = happened.get()
    if day is None and moment is not None:
        there = business_day(moment, organisation().zone)
        return When(moment, there, month_of(there))
    present = today()
    if day is None or day == present:
        return When(clock.now(), present, month_of(present))
    noon = datetime.combine(day, time(12), ZoneInfo(organisation().zone))
    return When(noon, day, month_of(day))


def event(
    frag_id: int, kind: Kind, *, seq: int, moment: When, by: Person, body: Mapping[str, Any]
) -> FragEvent:
    """Make an event's row without saving it."""
    made = FragEvent(
        frag_id=frag_id,
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
    for frag in frags:
        after = FragState(stage=frag.stage, pieces=frag.pieces, ready_on=frag.ready_on)
        add_to_tallies(tallies_of(FragState(), after, kind=kind, month=moment.month))
    FragEvent.objects.bulk_create(
        [
            event(frag.pk, kind, seq=1, moment=moment, by=by, body=body)
            for frag, body in zip(frags, bodies, strict=True)
        ],
        batch_size=500,
    )


def note(
    frag_id: int, kind: Kind, *, by: Person, body: Mapping[str, Any], moment: When | None = None
) -> FragEvent:
    """Write the next event of a frag of which pieces were just held, let go, sold or came back.

    The caller's update of the row raised ``last_seq`` by one and holds the row.
    Queries: 2.
    """
    row = Frag.objects.only("last_seq", "stage", "pieces", "ready_on").get(pk=frag_id)
    written = event(frag_id, kind, seq=row.last_seq, moment=moment or when(), by=by, body=body)
    written.save(force_insert=True)
    after = FragState(stage=row.stage, pieces=row.pieces, ready_on=row.ready_on)
    before = before_claimed(after, kind=kind, body=body)
    add_to_tallies(tallies_of(before, after, kind=kind, month=written.month))
    return written
