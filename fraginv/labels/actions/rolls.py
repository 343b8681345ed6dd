"""Throwing blank labels away."""

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Code, Person
from fraginv.base.transactions import one_transaction
from fraginv.labels.models import RetiredRoll
from fraginv.labels.queries.rolls import get_roll


@one_transaction
def retire_roll(number: int, *, by: Person) -> RetiredRoll:
    """Write down that the blank labels that are left of a roll were thrown away.

    Their codes stay taken, and no cutting takes them any more.
    Raises: NotFound where nothing is left of it.
    Queries: 4.
    """
    roll = get_roll(number)
    left = Code.objects.filter(run=number, kind=Code.Kind.BLANK)
    thrown_away = left.update(run=None, position=None)
    if thrown_away != roll.left:
        raise Conflict("Somebody has just cut with labels of this roll. Look at it again.")
    return RetiredRoll.objects.create(number=number, thrown_away=thrown_away, by=by, at=clock.now())
