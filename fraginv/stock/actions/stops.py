"""Stopping the sale of what is in one water, or of one colony or kind, and ending that."""

from datetime import date

from fraginv.base import clock
from fraginv.base.actions.tallies import add_to_tallies
from fraginv.base.errors import Conflict, InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Right
from fraginv.base.rules.tallies import NOW, Tallies
from fraginv.base.transactions import one_transaction
from fraginv.stock.models import Colony, StopSale, System, Trough, Variety
from fraginv.stock.rules.stops import LONGEST_WORDS, check_stop
from fraginv.stock.rules.tallies import HOLDING
from fraginv.taxa.models import Genus

Concern = System | Trough | Colony | Variety | Genus


@one_transaction
def start_stop(
    concern: Concern, *, reason: str, ends_when: str, by: Person, since: date | None = None
) -> StopSale:
    """Stop the sale of everything in a water, of a colony's frags, or of a variety or genus.

    Args: ``since`` is the day from which it matters who bought, today unless given.
    Raises: InputError for missing words or a day that cannot be; NotAllowed without the right.
    Queries: 1.
    """
    if not by.can(Right.STOP_SALE):
        raise NotAllowed("Your role does not let you stop a sale. Ask a grower or a seller.")
    since = since or today()
    check_stop(reason=reason, ends_when=ends_when, since=since, today=today())
    add_to_tallies(Tallies({(NOW, HOLDING): 1}))
    return StopSale.objects.create(
        reason=reason.strip(),
        ends_when=ends_when.strip(),
        since=since,
        by=by,
        made_at=clock.now(),
        **{type(concern).__name__.lower(): concern},
    )


@one_transaction
def end_stop(stop_id: int, *, because: str, by: Person) -> None:
    """End a stop-sale; what it touched is for sale again unless another one holds for it.

    Raises: InputError without a reason; Conflict for one that has ended; NotAllowed.
    Queries: 1.
    """
    if not by.can(Right.END_STOP):
        raise NotAllowed("A manager or owner ends a stop-sale. Ask one of them.")
    because = because.strip()
    if not because or len(because) > LONGEST_WORDS:
        raise InputError("Say in a few words why it may be sold again: what was found, and when.")
    ended = StopSale.objects.filter(pk=stop_id, ended_at__isnull=True).update(
        ended_at=clock.now(), ended_by=by, ended_because=because
    )
    if not ended:
        raise Conflict("This stop-sale has ended already. Look at the list.")
    add_to_tallies(Tallies({(NOW, HOLDING): -1}))
