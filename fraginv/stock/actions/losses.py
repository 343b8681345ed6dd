"""Losses, and taking one back that was a mistake."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError, NotFound
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.claims import end_run_out, give_way
from fraginv.stock.actions.log import When, when
from fraginv.stock.actions.rack_locks import lock_racks
from fraginv.stock.actions.returning import Place, place_again, rack_again
from fraginv.stock.actions.stopped_water import Step, keep_apart, water_of
from fraginv.stock.models import Frag, FragEvent, Loss, Rack
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.events import replay
from fraginv.stock.rules.happenings import Happening, Kind
from fraginv.stock.rules.losses import UNDO_WITHIN
from fraginv.stock.rules.moves import Moved, together
from fraginv.stock.rules.stages import CAUSES, ENDED

ALONG: Final = ("event", "frag", "trough__system")


@dataclass(frozen=True)
class LossItem:
    """So many pieces of one frag that are to be written off."""

    frag_id: int
    pieces: int


@dataclass(frozen=True)
class Lost:
    """What was written off, and who had it put aside: a name and how many pieces each."""

    losses: Sequence[Loss]
    promised: Sequence[tuple[str, int]]


@one_transaction
def record_loss(
    frag_id: int, *, pieces: int, cause: str, by: Person, note: str = "", moment: When | None = None
) -> Loss:
    """Write off pieces of a frag with their cause.

    Pieces that nobody has go first; then holds give way, as ``give_way`` says.
    Args: ``moment`` is now unless given.
    Raises: InputError for an unknown cause or number; Conflict where it does not live here.
    """
    item = LossItem(frag_id, pieces)
    return lose(item, cause=cause, note=note, moment=moment or when(), by=by).losses[0]


@one_transaction
def record_losses(
    items: Iterable[LossItem], *, cause: str, by: Person, note: str = "", day: date | None = None
) -> Lost:
    """Write off pieces of many frags with one cause; all of them or none.

    Args: ``day`` is today unless given.
    Raises: InputError for an unknown cause or number, or a day that has not come, or lies before
        the last thing that is known of one of them; Conflict for one that does not live here.
    Queries: about 7 for each frag, and 2.
    """
    wanted = sorted(items, key=lambda item: item.frag_id)
    if day is not None and day != today():
        check_loss_day(day, frag_ids=[item.frag_id for item in wanted])
    moment = when(day)
    done = [lose(item, cause=cause, note=note, moment=moment, by=by) for item in wanted]
    losses = [loss for one in done for loss in one.losses]
    return Lost(losses, [whose for one in done for whose in one.promised])


def lose(item: LossItem, *, cause: str, note: str, moment: When, by: Person) -> Lost:
    """Write off pieces of one frag, and let holds on them give way."""
    if cause not in CAUSES:
        raise InputError("Choose a cause from the list; unknown is one of them.")
    end_run_out(item.frag_id, now=clock.now())
    (frag,) = frags_with([item.frag_id])
    check_loss(frag, pieces=item.pieces)
    promised: list[tuple[str, int]] = []
    if item.pieces > frag.free:
        promised = give_way(frag.pk, pieces=item.pieces - frag.free, by=by)
        (frag,) = frags_with([item.frag_id])
    body = {"pieces": item.pieces, "cause": cause, "note": note}
    event = change_row(frag, Kind.LOST, moment=moment, by=by, body=body)
    event.save(force_insert=True)
    return Lost([write_loss(event, frag=frag)], promised)


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
def undo_losses(loss_ids: Iterable[int], *, by: Person) -> Moved:
    """Take several losses back, as ``undo_loss`` does one; all of them or none.

    Raises: Conflict as ``undo_loss``; NotFound for none, or one that is not there.
    Lock: all racks in which something stood, then as ``undo_loss``.
    """
    wanted = sorted(set(loss_ids))
    if not wanted:
        raise NotFound("Choose at least one loss to take back.")
    lock_racks(Frag.objects.filter(losses__in=wanted).values_list("rack", flat=True))
    return together([undo_loss(loss_id, by=by) for loss_id in wanted])


@one_transaction
def undo_loss(loss_id: int, *, by: Person) -> Moved:
    """Take a loss back that was written down by mistake within the last hour.

    The pieces are there again as they were, and where they stood as far as that can be:
    what somebody put into their hole meanwhile keeps it. What is not in water under a
    stop-sale any more is set apart.
    Holds that gave way to it do not come back.
    Raises: NotFound; Conflict for one that was undone or found since, or is older.
    Lock: the rack, then the loss and the frag.
    """
    loss = loss_to_undo(loss_id)
    racks = lock_racks([loss.frag.rack_id])
    if not Loss.objects.filter(pk=loss_id, undone=False).update(undone=True):
        raise Conflict("This loss was taken back already.")
    (frag,) = frags_with([loss.frag_id])
    event = loss.event
    later = FragEvent.objects.filter(frag=frag, seq__gt=event.seq)
    if later.filter(kind=Kind.FOUND.value).exists():
        raise Conflict(f"{show_code(frag.code_id)} was found since. Look at its page.")
    moment = When(clock.now(), event.day, event.month)
    body = {"undoes": event.seq, "pieces": loss.pieces, "stage": stage_before(loss)}
    stood_in = loss.trough.system if loss.trough is not None else None
    rack = rack_again(racks.get(frag.rack_id or 0), stood_in=stood_in)
    place = {} if frag.pieces else place_again(frag, rack=rack)
    change_row(frag, Kind.UNDONE, moment=moment, by=by, body=body | place).save(force_insert=True)
    return come_back(frag, loss=loss, rack=rack, place=place, by=by) if place else Moved(1)


def loss_to_undo(loss_id: int) -> Loss:
    """Return a loss with its event, its frag and the water in which that stood.

    Raises: NotFound; Conflict for one that is older than an hour.
    Queries: 1.
    """
    loss = Loss.objects.select_related(*ALONG).filter(pk=loss_id).first()
    if loss is None:
        raise NotFound("There is no such loss.")
    if clock.now() - loss.event.recorded_at > UNDO_WITHIN:
        raise Conflict(
            "This loss was recorded more than an hour ago. "
            "If the piece lives, say that it was found."
        )
    return loss


def come_back(frag: Frag, *, loss: Loss, rack: Rack | None, place: Place, by: Person) -> Moved:
    """Return what came of putting a frag back that had ended, set apart where it has to be.

    Args: ``frag`` as it was before, ``place`` where it stands now, in ``rack``.
    """
    now = rack.trough if rack is not None and place["rack"] else None
    step = Step(frag.pk, water_of(loss.trough), water_of(now))
    code = (frag.code_id,)
    return Moved(
        1,
        apart=keep_apart([step], by=by, moment=when()),
        no_place=code if loss.rack_id and not place["rack"] else (),
        no_hole=code if place["rack"] and frag.hole_row != place["row"] else (),
    )


def stage_before(loss: Loss) -> str:
    """Return at which stage a frag was when pieces of it were lost.

    Queries: 1.
    """
    events = FragEvent.objects.filter(frag=loss.frag_id, seq__lt=loss.event.seq).order_by("seq")
    return replay(Happening(Kind(one.kind), one.day, one.body) for one in events).stage


def check_loss(frag: Frag, *, pieces: int) -> None:
    """Refuse to write off pieces that are not there.

    Raises: InputError; Conflict for a frag that does not live here any more.
    """
    code = show_code(frag.code_id)
    if frag.stage in ENDED:
        raise Conflict(f"{code} is {frag.stage} already. Look at it again.", code=frag.code_id)
    if not 1 <= pieces <= frag.pieces:
        raise InputError(f"{code} has {frag.pieces} living; {pieces} cannot be lost.")


def check_loss_day(day: date, *, frag_ids: Sequence[int]) -> None:
    """Refuse a day that has not come, or before something else that happened to the frags.

    Raises: InputError naming the first frag, and from which day on it can be.
    Queries: 1.
    """
    if day > today():
        raise InputError(f"{day.isoformat()} has not come yet. The day can be today or earlier.")
    later = (
        FragEvent.objects.filter(frag__in=frag_ids, day__gt=day)
        .order_by("frag_id", "-day")
        .values_list("frag__code", "day", "kind")
        .first()
    )
    if later is not None:
        code, known, kind = later
        raise InputError(
            f"{show_code(code)} was {kind} on {known.isoformat()}, so it was not lost before. "
            "Choose that day or a later one."
        )
