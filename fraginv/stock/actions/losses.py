"""Losses, and taking one back that was a mistake."""

from datetime import timedelta
from typing import Final

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.claims import end_run_out
from fraginv.stock.actions.log import When, when
from fraginv.stock.models import Frag, FragEvent, Loss
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.events import replay
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.stages import CAUSES

UNDO_WITHIN: Final = timedelta(hours=1)


@one_transaction
def record_loss(
    frag_id: int, *, pieces: int, cause: str, by: Person, note: str = "", moment: When | None = None
) -> Loss:
    """Write off pieces of a frag with their cause; holds that have run out are ended first.

    Args: ``moment`` is now unless given.
    Raises: InputError for an unknown cause or number; Conflict for more
        pieces than are free.
    """
    if cause not in CAUSES:
        raise InputError("Choose a cause from the list; unknown is one of them.")
    end_run_out(frag_id, now=clock.now())
    (frag,) = frags_with([frag_id])
    check_loss(frag, pieces=pieces)
    moment = moment or when()
    body = {"pieces": pieces, "cause": cause, "note": note}
    event = change_row(frag, Kind.LOST, moment=moment, by=by, body=body)
    event.save(force_insert=True)
    return write_loss(event, frag=frag)


def write_loss(event: FragEvent, *, frag: Frag) -> Loss:
    """Write a loss's row beside its event, with where the frag stood.

    Queries: 1, and 1 for the trough.
    """
    rack = frag.rack
    return Loss.objects.create(
        event=event,
        frag=frag,
        variety_id=frag.variety_id,
        colony_id=frag.colony_id,
        rack=rack,
        trough_id=rack.trough_id if rack else None,
        pieces=event.body["pieces"],
        cause=event.body["cause"],
        day=event.day,
        month=event.month,
        age_days=max((event.day - frag.cut_on).days, 0),
    )


@one_transaction
def undo_loss(loss_id: int, *, by: Person) -> Frag:
    """Take a loss back that was written down by mistake within the last hour.

    The pieces are there again as they were; what somebody put into their hole meanwhile
    keeps it.
    Raises: Conflict for one that was undone, or is older.
    """
    loss = Loss.objects.select_related("event").get(pk=loss_id)
    if clock.now() - loss.event.recorded_at > UNDO_WITHIN:
        raise Conflict(
            "This loss was recorded more than an hour ago. "
            "If the piece lives, say that it was found."
        )
    if not Loss.objects.filter(pk=loss_id, undone=False).update(undone=True):
        raise Conflict("This loss was taken back already.")
    (frag,) = frags_with([loss.frag_id])
    event = loss.event
    moment = When(clock.now(), event.day, event.month)
    body = {"undoes": event.seq, "pieces": loss.pieces, "stage": stage_before(loss)}
    body |= where_it_stood(frag)
    change_row(frag, Kind.UNDONE, moment=moment, by=by, body=body).save(force_insert=True)
    return frag


def stage_before(loss: Loss) -> str:
    """Return at which stage a frag was when pieces of it were lost.

    Queries: 1.
    """
    events = FragEvent.objects.filter(frag=loss.frag_id, seq__lt=loss.event.seq).order_by("seq")
    return replay(Happening(Kind(one.kind), one.day, one.body) for one in events).stage


def where_it_stood(frag: Frag) -> dict[str, int | None]:
    """Return the place that a frag's row still names; without its hole if another is in it.

    Queries: 0 to 1.
    """
    place = {"rack": frag.rack_id, "row": frag.hole_row, "column": frag.hole_column}
    if frag.hole_row is None:
        return place
    there = Frag.objects.filter(
        rack=frag.rack_id, hole_row=frag.hole_row, hole_column=frag.hole_column, pieces__gte=1
    )
    taken = there.exclude(pk=frag.pk).exists()
    return place | {"row": None, "column": None} if taken else place


def check_loss(frag: Frag, *, pieces: int) -> None:
    """Refuse to write off pieces that are not there, or are put aside for somebody.

    Raises: InputError.
    """
    code, aside = show_code(frag.code_id), frag.pieces - frag.free
    if not 1 <= pieces <= frag.pieces:
        raise InputError(f"{code} has {frag.pieces} living; {pieces} cannot be lost.")
    if pieces > frag.free:
        raise InputError(
            f"{code} has {frag.pieces} living, of which {aside} are put aside; "
            f"{pieces} cannot be lost. Let what is put aside go first."
        )
