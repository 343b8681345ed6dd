"""Counting a rack: keeping what was counted so far, and settling it together."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.actions.counting import found_again
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import move_frag
from fraginv.stock.actions.rack_log import note_rack
from fraginv.stock.actions.racks import refuse_out_of_use
from fraginv.stock.models import Frag, Rack, RackCount, RackEvent
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.rack_counts import expected_in
from fraginv.stock.queries.racks import get_rack
from fraginv.stock.rules.counts import SAID, Fate, Gap, Settled, found_in, gaps_of, tally
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.racks import RackKind
from fraginv.stock.rules.stages import ENDED, ENDED_WORDS, Stage

MOST: Final = 9999


@one_transaction
def keep_count(
    rack_id: int, *, there: Mapping[int, int], by: Person, extra: Iterable[int] = ()
) -> RackCount:
    """Keep what somebody has counted of a rack so far, instead of what they kept before.

    Args: ``there`` is how many pieces of each frag were found, 0 for one that was not;
        ``extra`` are frags that should stand elsewhere, or were written off.
    Raises: InputError for a number that cannot be; Conflict for a frag that was sold or given,
        or a rack that is out of use.
    Queries: 3 or 4, and 1 for extra ones.
    """
    rack = get_rack(rack_id)
    refuse_out_of_use(rack)
    for pieces in there.values():
        if not 0 <= pieces <= MOST:
            raise InputError(f"{pieces} pieces: write a number from 0 to {MOST}.")
    others = sorted(set(extra))
    for frag in frags_with(others) if others else []:
        refuse_gone(frag)
    told: dict[str, Any] = {
        "there": {str(frag): pieces for frag, pieces in there.items()},
        "extra": others,
    }
    made, is_new = RackCount.objects.get_or_create(
        rack=rack, by=by, defaults=told | {"begun_at": clock.now()}
    )
    if not is_new:
        RackCount.objects.filter(pk=made.pk).update(**told)
    return made


@one_transaction
def drop_count(rack_id: int, *, by: Person) -> None:
    """Throw away what somebody has counted of a rack so far."""
    RackCount.objects.filter(rack=rack_id, by=by).delete()


@one_transaction
def settle_count(
    rack_id: int,
    *,
    there: Mapping[int, int],
    by: Person,
    extra: Iterable[int] = (),
    settled: Mapping[int, Settled] | None = None,
    elsewhere: Rack | None = None,
) -> RackEvent:
    """Settle a count: what is missing and what is too many, all of it together.

    Frags that came or left since they were counted stay as they are.
    Args: ``there`` and ``extra`` as for ``keep_count``; ``settled`` says of each frag with
        a gap what becomes of it; ``elsewhere`` is the rack for what stands in another one.
    Raises: InputError for a gap that is not settled, or cannot be so; Conflict as the actions.
    Queries: 6, and those of the action for each gap and each extra frag.
    """
    rack = get_rack(rack_id)
    refuse_out_of_use(rack)
    expected = expected_in(rack)
    told: list[tuple[str, int]] = []
    for gap in gaps_of(expected, there=there):
        settle = (settled or {}).get(gap.frag)
        if settle is None or settle.fate not in gap.fates:
            raise InputError("Say of each piece that is missing or too many what became of it.")
        settle_gap(gap, settle=settle, elsewhere=elsewhere, by=by)
        told.append((SAID[settle.fate], abs(gap.short)))
    for frag in sorted(set(extra) - set(expected)):
        told.append(take_in(frag, rack=rack, by=by))
    counts = tally(told)
    came = counts.get("moved here", 0) + counts.get("found again", 0)
    body = {
        "expected": sum(expected.values()),
        "found": found_in(expected, there=there) + came,
        "settled": counts,
    }
    drop_count(rack_id, by=by)
    return note_rack(rack, RackKind.COUNTED, by=by, body=body)


def settle_gap(gap: Gap, *, settle: Settled, elsewhere: Rack | None, by: Person) -> None:
    """Do what was said of one frag that is missing or too many.

    Raises: InputError where the other rack is not chosen; as the actions.
    """
    if settle.fate == Fate.LOST:
        record_loss(gap.frag, pieces=gap.short, cause=settle.cause, by=by, note="counted")
    elif settle.fate == Fate.LOOKED:
        body = {"rack": None, "row": None, "column": None, "unseen": True}
        change(frags_with([gap.frag]), Kind.PLACED, by=by, body=body)
    elif settle.fate == Fate.ELSEWHERE:
        if elsewhere is None:
            raise InputError("Choose the rack in which it stands.")
        move_frag(gap.frag, rack=elsewhere, by=by)
    elif settle.fate == Fate.FOUND:
        found_again(gap.frag, pieces=-gap.short, by=by, note="counted")


def take_in(frag_id: int, *, rack: Rack, by: Person) -> tuple[str, int]:
    """Take a frag into the rack in which it was found; return in which words, and its pieces.

    Raises: Conflict for one that was sold or given; as the actions.
    """
    (frag,) = frags_with([frag_id])
    if frag.pieces:
        move_frag(frag_id, rack=rack, by=by)
        return "moved here", frag.pieces
    refuse_gone(frag)
    found_again(frag_id, pieces=1, rack=rack, by=by, note="counted")
    return "found again", 1


def refuse_gone(frag: Frag) -> None:
    """Refuse a frag that cannot stand in a rack, because it left in another way than by a loss.

    Raises: Conflict saying what to do.
    """
    if frag.stage in ENDED and frag.stage != Stage.LOST:
        words = ENDED_WORDS.get(frag.stage, f"it is {frag.stage}")
        raise Conflict(
            f"{show_code(frag.code_id)} cannot be counted here: {words}. Put it aside, and "
            "look at its page what is wrong.",
            code=frag.code_id,
        )
