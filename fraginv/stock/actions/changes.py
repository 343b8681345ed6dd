"""How frags that are there change: an event each, and the row beside it."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from typing import Any

from django.db.models import F

from fraginv.base.actions.tallies import add_to_tallies
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.stock.actions.log import When, event, when
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.frags import state_of
from fraginv.stock.rules.events import follow
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from fraginv.stock.rules.tallies import tallies_of

COLUMNS = {field.name for field in fields(FragState)}


def change(
    frags: Iterable[Frag],
    kind: Kind,
    *,
    by: Person,
    body: Mapping[str, Any],
    moment: When | None = None,
) -> int:
    """Let one and the same event happen to frags; all of them change, or none.

    Each row is written only if nobody changed it since it was read.
    Args: ``moment`` is now unless given.
    Returns: how many frags.
    Raises: Conflict where the event may not follow, or somebody was faster.
    Queries: 1 per frag, and 1 per 500.
    """
    moment = moment or when()
    written = [change_row(frag, kind, moment=moment, by=by, body=body) for frag in frags]
    FragEvent.objects.bulk_create(written, batch_size=500)
    return len(written)


def change_row(
    frag: Frag, kind: Kind, *, moment: When, by: Person, body: Mapping[str, Any]
) -> FragEvent:
    """Move one frag's row on, and return its event to be saved.

    Raises: Conflict.
    """
    before = state_of(frag)
    try:
        after = follow(before, Happening(kind, moment.day, body))
    except Conflict as error:
        raise Conflict(f"{show_code(frag.code_id)}: {error.message}", code=frag.code_id) from error
    columns = {"rack": "rack_id"}
    news = {
        columns.get(name, name): value
        for name, value in asdict(after).items()
        if value != getattr(before, name)
    }
    rows = Frag.objects.filter(pk=frag.pk, last_seq=frag.last_seq)
    if not rows.update(last_seq=F("last_seq") + 1, **news):
        raise Conflict(
            f"Somebody else has just changed {show_code(frag.code_id)}. Look at it again.",
            code=frag.code_id,
        )
    add_to_tallies(tallies_of(before, after, kind=kind, month=moment.month))
    return event(frag.pk, kind, seq=frag.last_seq + 1, moment=moment, by=by, body=body)
