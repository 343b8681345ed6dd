"""Pieces found again, lots counted, and frags given away."""

from collections.abc import Iterable

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.aside import refuse_not_ours
from fraginv.stock.actions.changes import change, change_row
from fraginv.stock.actions.claims import end_run_out
from fraginv.stock.actions.log import when
from fraginv.stock.actions.looks import mark_seen
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import refuse_rack
from fraginv.stock.actions.parts import living, refuse_held
from fraginv.stock.actions.rack_locks import lock_rack
from fraginv.stock.actions.stopped_water import Step, keep_apart, water_of
from fraginv.stock.models import Frag, Loss, Rack, Trough
from fraginv.stock.queries.frags import frags_with, is_stopped
from fraginv.stock.rules.cutting import check_pieces
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.moves import Moved
from fraginv.stock.rules.parts import check_counted, check_gift
from fraginv.stock.rules.stages import Stage


@one_transaction
def found_again(
    frag_id: int, *, by: Person, pieces: int = 1, rack: Rack | None = None, note: str = ""
) -> Moved:
    """Have pieces again that were written off; one that had ended grows on, to be graded anew.

    One that was lost in water under a stop-sale, and is found elsewhere, is set apart.
    Args: ``rack`` is where it stands now, for one that had ended.
    Raises: InputError for a number that cannot be; Conflict for what was not lost, a rack
        that is out of use, or other water.
    Lock: the rack, then the frag.
    Queries: 5, 1 for a rack, 1 for one that had ended, and those of ``keep_apart``.
    """
    here = lock_rack(rack.pk) if rack is not None else None
    (frag,) = frags_with([frag_id])
    code = show_code(frag.code_id)
    check_pieces(pieces)
    if frag.pieces and not frag.is_lot:
        raise Conflict(f"{code} is not lost: it is {frag.stage} and stands where its page says.")
    if not frag.is_lot and pieces != 1:
        raise InputError(f"{code} was one piece; {pieces} of it cannot be found.")
    moment, ended = when(), not frag.pieces
    body: dict[str, object] = {"pieces": pieces, "note": note.strip()}
    if ended:
        if here is not None:
            refuse_rack(frag, rack=here)
        healing = frag.heal_by is not None and today() < frag.heal_by
        body["stage"] = (Stage.HEALING if healing else Stage.GROWING).value
        body["rack"] = here.pk if here is not None else None
    change_row(frag, Kind.FOUND, moment=moment, by=by, body=body).save(force_insert=True)
    if not ended:
        return Moved(1)
    now = here.trough if here is not None else None
    step = Step(frag.pk, water_of(left_at_loss(frag)), water_of(now))
    apart = keep_apart([step], by=by, moment=moment)
    return Moved(1, apart=apart, no_place=() if here is not None else (frag.code_id,))


def left_at_loss(frag: Frag) -> Trough | None:
    """Return the trough in which a frag stood when the last of it was lost; None for none known.

    Its rack may have been carried elsewhere since.
    Queries: 1.
    """
    losses = Loss.objects.filter(frag=frag, undone=False).select_related("trough")
    last = losses.order_by("-event__seq").first()
    return last.trough if last is not None else None


@one_transaction
def count_lot(frag_id: int, *, pieces: int, by: Person, cause: str = "", note: str = "") -> int:
    """Bring a lot to the number that was counted: fewer are a loss, more were found again.

    Args: ``pieces`` are there; ``cause`` of the loss where they are fewer.
    Returns: how many more there are than were written down; fewer is below zero.
    Raises: InputError for a number or cause that cannot be; Conflict for what is no lot.
    Queries: 8, and 4 for each hold that has run out.
    """
    check_counted(pieces)
    frag = living(frag_id)
    if not frag.is_lot:
        raise Conflict(f"{show_code(frag.code_id)} is one piece, not a lot. Record its loss.")
    more = pieces - frag.pieces
    if more == 0:
        mark_seen([frag_id], by=by)
    elif more > 0:
        found_again(frag_id, pieces=more, by=by, note=note)
    else:
        record_loss(frag_id, pieces=-more, cause=cause, by=by, note=note)
    return more


@one_transaction
def give_frags(
    frag_ids: Iterable[int],
    *,
    why: str,
    by: Person,
    to: str = "",
    paper: str = "",
    pieces: int | None = None,
) -> int:
    """Give frags away: for what, to whom, and with which sale.

    Args: ``pieces`` of a lot, which is then the only one; others go whole.
    Returns: how many pieces.
    Raises: InputError for a reason or number that cannot be; Conflict for what is barred,
        in a stop-sale, apart, in quarantine, or put aside for somebody.
    Queries: 3 per frag, and 4 for each hold that has run out.
    """
    check_gift(why, paper=paper)
    ids = sorted(set(frag_ids))
    for frag_id in ids:
        end_run_out(frag_id, now=clock.now())
    frags = frags_with(ids)
    refuse_not_ours(ids)
    if pieces is None and any(frag.is_lot for frag in frags):
        raise InputError("Give from one lot at a time, and write how many of its pieces.")
    told = {"why": why, "to": " ".join(to.split()), "paper": paper.strip()}
    given = 0
    for frag in frags:
        count = pieces if pieces is not None and frag.is_lot else max(frag.pieces, 1)
        refuse_ungivable(frag, pieces=count, by=by)
        given += count
        change([frag], Kind.GIVEN, by=by, body=told | {"pieces": count})
    return given


def refuse_ungivable(frag: Frag, *, pieces: int, by: Person) -> None:
    """Refuse to give what may not leave, or what somebody else was promised.

    Raises: InputError; Conflict.
    """
    code = show_code(frag.code_id)
    if not 1 <= pieces <= max(frag.pieces, 1):
        raise InputError(f"{code} has {frag.pieces} living pieces; {pieces} cannot be given.")
    if frag.colony is not None and frag.colony.barred_because:
        raise Conflict(f"{code} may not be given: its colony is barred from sale and gifts.")
    if is_stopped(frag):
        raise Conflict(f"{code} may not be given: a stop-sale holds for it.")
    if frag.quarantined or frag.apart:
        raise Conflict(f"{code} is set apart or in quarantine. Release it before it is given.")
    if frag.pieces:
        refuse_held(frag, pieces=pieces, by=by)
