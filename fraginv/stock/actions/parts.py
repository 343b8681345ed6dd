"""Frags that part, are cut again, or grow together."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Code, Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Right
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.aside import refuse_not_ours
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.claims import end_run_out
from fraginv.stock.actions.cuttings import check_medium, codes_for
from fraginv.stock.actions.log import When, note_first, when
from fraginv.stock.models import Frag, FragEvent
from fraginv.stock.queries.frags import frags_with, is_stopped, open_holds, state_of
from fraginv.stock.queries.varieties import pace_of
from fraginv.stock.rules.events import follow
from fraginv.stock.rules.happenings import FragState, Happening, Kind
from fraginv.stock.rules.holds import Holder, say_holders
from fraginv.stock.rules.parts import (
    Joining,
    check_join,
    check_recut,
    check_split,
    cut_anew,
    joint_stay,
    part_of,
)
from fraginv.stock.rules.ready import heal_by, likely_on
from fraginv.stock.rules.stages import Stage

MOST_JOINED = 20


@one_transaction
def split_frag(
    frag_id: int, *, pieces: int, by: Person, each: bool = True, first_code: str = ""
) -> list[Frag]:
    """Let free pieces leave a lot for codes of their own; what is held stays in it.

    Args: ``each`` piece gets a code, or all of them one together, as another lot;
        ``first_code`` is a label printed ahead, the first of a row where there are several.
    Returns: the frags that were made.
    Raises: InputError for a number that cannot leave; Conflict where somebody has the pieces.
    Queries: 14, and 4 for each hold that has run out.
    """
    frag = living(frag_id)
    check_split(pieces, of=frag.pieces, code=show_code(frag.code_id))
    refuse_held(frag, pieces=pieces, by=by)
    body = part_of(state_of(frag), parent=frag.pk, pieces=1 if each else pieces)
    codes = codes_for(pieces if each else 1, first=first_code)
    moment = when()
    days = {"cut_on": frag.cut_on, "heal_by": frag.heal_by, "likely_on": frag.likely_on}
    parts = begin_parts(frag, codes=codes, body=body, columns=days, moment=moment, by=by)
    told = {"pieces": pieces, "into": [part.pk for part in parts]}
    change_row(frag, Kind.SPLIT, moment=moment, by=by, body=told).save(force_insert=True)
    return parts


@one_transaction
def recut_frag(
    frag_id: int, *, into: int, by: Person, medium: str = "", first_code: str = ""
) -> list[Frag]:
    """Cut one piece into several; it and what is cut off it heal anew.

    Args: ``into`` pieces in all, of which it stays one under its own code; ``medium`` is
        what the others stand on, its own unless given; ``first_code`` as for a split.
    Returns: the frags that were made.
    Raises: InputError for a lot or a number that cannot be; Conflict for what is barred or held.
    Queries: 15, and 4 for each hold that has run out.
    """
    frag = living(frag_id)
    code = show_code(frag.code_id)
    check_recut(into, of=frag.pieces, code=code)
    check_medium(medium or "plug")
    if frag.colony is not None and frag.colony.barred_because:
        raise Conflict(f"{code} is barred from cutting: {frag.colony.barred_because}.")
    refuse_not_ours([frag_id])
    refuse_held(frag, pieces=frag.pieces, by=by)
    moment, pace = when(), pace_of(frag.variety)
    days: dict[str, date | None] = {
        "heal_by": heal_by(moment.day, pace=pace),
        "likely_on": likely_on(moment.day, pace=pace),
    }
    body = cut_anew(part_of(state_of(frag), parent=frag.pk, pieces=1))
    codes, columns = codes_for(into - 1, first=first_code), days | {"cut_on": moment.day}
    parts = begin_parts(
        frag, codes=codes, body=body, columns=columns, moment=moment, by=by, medium=medium
    )
    told = {"pieces": 0, "into": [part.pk for part in parts], "stage": Stage.HEALING.value}
    change_row(frag, Kind.SPLIT, moment=moment, by=by, body=told).save(force_insert=True)
    Frag.objects.filter(pk=frag.pk).update(**days)
    return parts


def living(frag_id: int) -> Frag:
    """Return a living frag, after the holds on it that have run out were ended.

    Raises: NotFound; Conflict for one that does not live here any more.
    Queries: 2, and 4 for each hold that has run out.
    """
    end_run_out(frag_id, now=clock.now())
    (frag,) = frags_with([frag_id])
    if not frag.pieces:
        raise Conflict(
            f"{show_code(frag.code_id)} does not live here any more: it is {frag.stage}."
        )
    return frag


def refuse_held(frag: Frag, *, pieces: int, by: Person) -> None:
    """Refuse to take more pieces than nobody has; who may see customers is told who has them.

    Raises: Conflict.
    Queries: 1 where it refuses.
    """
    if pieces <= frag.free:
        return
    sees = by.can(Right.SEE_CUSTOMERS)
    holders = [
        Holder(hold.holder if sees else "somebody", hold.pieces, hold.until)
        for hold in open_holds([frag.pk])
    ]
    raise Conflict(
        f"{show_code(frag.code_id)} has {frag.free} free of {frag.pieces}: "
        f"{say_holders(holders, zone=organisation().zone)}. What is put aside stays where it is.",
        code=frag.code_id,
        free=frag.free,
    )


def begin_parts(
    parent: Frag,
    *,
    codes: Sequence[Code],
    body: Mapping[str, Any],
    columns: Mapping[str, date | None],
    moment: When,
    by: Person,
    medium: str = "",
) -> list[Frag]:
    """Write down frags that were a part of another, each with its first event.

    Queries: 2 per 500 frags.
    """
    state = asdict(follow(FragState(), Happening(Kind.SPLIT, moment.day, body)))
    rack = state.pop("rack")
    same_day = columns["cut_on"] == parent.cut_on
    parts = Frag.objects.bulk_create(
        [
            Frag(
                code=code,
                variety_id=parent.variety_id,
                colony_id=parent.colony_id,
                cutting_id=parent.cutting_id if same_day else None,
                arrival_id=parent.arrival_id,
                split_from=parent,
                is_lot=state["pieces"] > 1,
                medium=medium or parent.new_medium or parent.medium,
                rack_id=rack,
                last_seq=1,
                **columns,
                **state,
            )
            for code in codes
        ],
        batch_size=500,
    )
    note_first(parts, Kind.SPLIT, moment=moment, by=by, bodies=[body] * len(parts))
    return parts


@one_transaction
def join_frags(frag_id: int, *, other_ids: Iterable[int], by: Person) -> Frag:
    """Let others become one with a frag: grown together to one piece, or taken into a lot.

    The others end; the frag goes on under its code, and its own holds go on with it.
    Returns: the frag that goes on.
    Raises: InputError for none or too many; Conflict for what is not alike, or put aside.
    Queries: 12 for each of the others.
    """
    wanted = sorted(set(other_ids) - {frag_id})
    if not 1 <= len(wanted) <= MOST_JOINED:
        raise InputError(f"Choose from 1 to {MOST_JOINED} other frags that become one with it.")
    for other_id in wanted:
        join_two(frag_id, other_id, by=by)
    return living(frag_id)


def join_two(frag_id: int, other_id: int, *, by: Person) -> None:
    """Let one frag become a part of another.

    Raises: Conflict.
    """
    frag, other = living(frag_id), living(other_id)
    check_join(joining(frag), joining(other))
    refuse_held(other, pieces=other.pieces, by=by)
    added = other.pieces if frag.is_lot else 0
    stay = joint_stay(state_of(frag), state_of(other))
    told = {
        frag.pk: {"with": other.pk, "pieces": added} | stay,
        other.pk: {"into": frag.pk, "pieces": other.pieces},
    }
    moment = when()
    FragEvent.objects.bulk_create(
        change_row(each, Kind.JOINED, moment=moment, by=by, body=told[each.pk])
        for each in sorted((frag, other), key=lambda one: one.pk)
    )


def joining(frag: Frag) -> Joining:
    """Return what decides whether a frag may become one with another."""
    return Joining(
        code=show_code(frag.code_id),
        variety=frag.variety_id,
        variety_name=frag.variety.name,
        is_lot=frag.is_lot,
        state=state_of(frag),
        source=(frag.colony_id, frag.arrival_id),
        stopped=is_stopped(frag),
        water=frag.rack.trough.system_id if frag.rack is not None else None,
    )
