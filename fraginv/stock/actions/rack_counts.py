"""Counting a rack: keeping what was counted so far, and settling it together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.actions.counting import found_again
from fraginv.stock.actions.log import When, when
from fraginv.stock.actions.losses import record_loss
from fraginv.stock.actions.moving import place_frags
from fraginv.stock.actions.rack_locks import lock_racks
from fraginv.stock.actions.rack_log import note_rack
from fraginv.stock.actions.racks import refuse_out_of_use
from fraginv.stock.actions.stopped_water import keep_apart, step_of
from fraginv.stock.models import Frag, Rack, RackCount, RackEvent
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.rack_counts import expected_in
from fraginv.stock.queries.racks import get_rack
from fraginv.stock.rules.counts import SAID, Fate, Gap, Settled, found_in, gaps_of, tally
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.racks import RackKind
from fraginv.stock.rules.stages import ENDED, ENDED_WORDS, Stage

MOST: Final = 9999
# What became of what should have stood elsewhere, or was written off.
MOVED_HERE: Final = "moved here"
FOUND_AGAIN: Final = "found again"


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

    Frags that came or left since they were counted stay as they are. What is not in water
    under a stop-sale any more is set apart; the event says how many.
    Args: ``there`` and ``extra`` as for ``keep_count``; ``settled`` says of each frag with
        a gap what becomes of it; ``elsewhere`` is the rack for what stands in another one.
    Raises: InputError for a gap that is not settled, or cannot be so; Conflict as the actions.
    Lock: both racks, then the frags.
    Queries: 6, and those of the action for each loss, each found again, and all that moves.
    """
    moment = when()
    rack = lock_racks([rack_id, elsewhere.pk if elsewhere is not None else None])[rack_id]
    refuse_out_of_use(rack)
    expected = expected_in(rack)
    gaps = gaps_of(expected, there=there)
    done = settle_gaps(gaps, settled=settled or {}, elsewhere=elsewhere, by=by, moment=moment)
    done += take_in(sorted(set(extra) - set(expected)), rack=rack, by=by)
    counts = tally((one.words, one.pieces) for one in done if one.words)
    came = counts.get(MOVED_HERE, 0) + counts.get(FOUND_AGAIN, 0)
    body = {
        "expected": sum(expected.values()),
        "found": found_in(expected, there=there) + came,
        "settled": counts,
    }
    apart = sum(one.apart for one in done)
    body |= {"apart": apart} if apart else {}
    drop_count(rack_id, by=by)
    return note_rack(rack, RackKind.COUNTED, by=by, body=body, moment=moment)


@dataclass(frozen=True)
class Done:
    """What became of so many pieces, in words, and how many frags were set apart with it."""

    words: str = ""
    pieces: int = 0
    apart: int = 0


def settle_gaps(
    gaps: Iterable[Gap],
    *,
    settled: Mapping[int, Settled],
    elsewhere: Rack | None,
    by: Person,
    moment: When,
) -> list[Done]:
    """Do what was said of the frags that are missing or too many; return what became of each.

    Raises: InputError for a gap that is not settled, or cannot be so; as the actions.
    """
    done: list[Done] = []
    moves: dict[Fate, list[int]] = {Fate.LOOKED: [], Fate.ELSEWHERE: []}
    for gap in gaps:
        settle = settled.get(gap.frag)
        if settle is None or settle.fate not in gap.fates:
            raise InputError("Say of each piece that is missing or too many what became of it.")
        if settle.fate in moves:
            moves[settle.fate].append(gap.frag)
        elif settle.fate == Fate.LOST:
            record_loss(gap.frag, pieces=gap.short, cause=settle.cause, by=by, note="counted")
        elif settle.fate == Fate.FOUND:
            found_again(gap.frag, pieces=-gap.short, by=by, note="counted")
        done.append(Done(SAID[settle.fate], abs(gap.short)))
    return [*done, Done(apart=move_away(moves, elsewhere=elsewhere, by=by, moment=moment))]


def move_away(
    moves: Mapping[Fate, list[int]], *, elsewhere: Rack | None, by: Person, moment: When
) -> int:
    """Put what is missing into the other rack, or where nobody knows.

    Returns: how many were set apart.
    Raises: InputError where the other rack is not chosen; as ``place_frags``.
    """
    apart = 0
    if moves[Fate.ELSEWHERE]:
        if elsewhere is None:
            raise InputError("Choose the rack in which it stands.")
        apart += place_frags(moves[Fate.ELSEWHERE], rack=elsewhere, by=by).apart
    if moves[Fate.LOOKED]:
        frags = frags_with(moves[Fate.LOOKED])
        body = {"rack": None, "row": None, "column": None, "unseen": True}
        change(frags, Kind.PLACED, by=by, body=body, moment=moment)
        apart += keep_apart([step_of(frag, rack=None) for frag in frags], by=by, moment=moment)
    return apart


def take_in(frag_ids: Sequence[int], *, rack: Rack, by: Person) -> list[Done]:
    """Take frags into the rack in which they were found; return what became of each.

    Raises: Conflict for one that was sold or given; as the actions.
    """
    frags = frags_with(frag_ids) if frag_ids else []
    living = [frag for frag in frags if frag.pieces]
    done = [Done(MOVED_HERE, frag.pieces) for frag in living]
    if living:
        moved = place_frags([frag.pk for frag in living], rack=rack, by=by)
        done.append(Done(apart=moved.apart))
    for frag in frags:
        if not frag.pieces:
            refuse_gone(frag)
            found = found_again(frag.pk, pieces=1, rack=rack, by=by, note="counted")
            done.append(Done(FOUND_AGAIN, 1, found.apart))
    return done


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
