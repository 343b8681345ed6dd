"""What happens to mother colonies, written down."""

from collections.abc import Mapping
from typing import Any

from fraginv.base.models import Person
from fraginv.stock.actions.log import When, when
from fraginv.stock.models import ColonyEvent
from fraginv.stock.rules.colonies import ColonyKind


def last_event(colony_id: int) -> int:
    """Return the latest event of a colony, 0 where it has none.

    Queries: 1.
    """
    latest = ColonyEvent.objects.filter(colony=colony_id).order_by("-pk")
    return latest.values_list("pk", flat=True).first() or 0


def note_colony(
    colony_id: int,
    kind: ColonyKind,
    *,
    by: Person,
    body: Mapping[str, Any],
    moment: When | None = None,
) -> ColonyEvent:
    """Write down what happened to a colony, now unless a moment is given.

    Queries: 1.
    """
    moment = moment or when()
    return ColonyEvent.objects.create(
        colony_id=colony_id,
        kind=kind.value,
        at=moment.at,
        day=moment.day,
        by=by,
        body=dict(body),
    )
