"""Reading losses."""

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.stock.models import Frag, Loss
from fraginv.stock.rules.losses import UNDO_WITHIN


def losses() -> QuerySet[Loss]:
    """Return losses with what they were of and who wrote them down, the latest day first.

    Queries: none until it is read, then 1.
    """
    return Loss.objects.select_related("event__by", "frag", "variety", "trough", "rack")


def loss_list(*, size: int, after: int | None = None) -> Portion[Loss]:
    """Return a page of losses, the latest day first, also those that were taken back.

    Args: ``after`` the id of the last one on the page before.
    Raises: NotFound for one that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    return portion_of(losses(), order=["-day", "-pk"], size=size, after=after)


def losses_with(ids: list[int]) -> list[Loss]:
    """Return losses by their ids; those that are not there are left out.

    Queries: 1.
    """
    return list(losses().filter(pk__in=ids).order_by("pk"))


def can_be_undone(loss: Loss) -> bool:
    """Tell whether a loss that was read with its event may be taken back now."""
    return not loss.undone and clock.now() - loss.event.recorded_at <= UNDO_WITHIN


def loss_to_undo(frag: Frag) -> Loss | None:
    """Return the latest loss of a frag that may still be taken back, if there is one.

    Queries: 1.
    """
    since = clock.now() - UNDO_WITHIN
    rows = losses().filter(frag=frag, undone=False, event__recorded_at__gte=since)
    return rows.order_by("-event__seq").first()
