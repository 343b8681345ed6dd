"""Colonies that die, are given, go into the display or are sold whole; and those that come back."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from fraginv.base import clock
from fraginv.base.actions.codes import issue_codes
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Code, Party, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.claims import end_run_out
from fraginv.stock.actions.colony_log import note_colony
from fraginv.stock.actions.log import When, note_first, when
from fraginv.stock.actions.moving import standing_in
from fraginv.stock.actions.rack_locks import lock_racks
from fraginv.stock.actions.returning import rack_again
from fraginv.stock.models import Colony, ColonyEvent, Frag, Rack, System
from fraginv.stock.queries.colonies import get_colony
from fraginv.stock.queries.frags import frags_with, open_holds
from fraginv.stock.queries.stops import stops_on
from fraginv.stock.queries.varieties import pace_of
from fraginv.stock.rules.colonies import (
    LEFT,
    STATES,
    ColonyKind,
    State,
    read_words,
)
from fraginv.stock.rules.cutting import check_day
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.ready import heal_by, likely_on
from fraginv.stock.rules.stages import CAUSES, ENDED, SIZES, Stage


@one_transaction
def record_death(
    colony_id: int, *, cause: str, by: Person, note: str = "", day: date | None = None
) -> Colony:
    """Write down that a colony died, of what, and on which day.

    Raises: InputError for an unknown cause or a day that cannot be; Conflict for a
        colony that has left already.
    Queries: 4.
    """
    if cause not in CAUSES:
        raise InputError("Choose a cause from the list; unknown is one of them.")
    body = {"cause": cause, "note": read_words(note, what="note")}
    return leave(get_colony(colony_id), State.DEAD, by=by, body=body, day=day)


@one_transaction
def give_colony(
    colony_id: int, *, to: Party, by: Person, note: str = "", day: date | None = None
) -> Colony:
    """Write down that a colony was given away, and to whom.

    Raises: InputError for a day that cannot be; Conflict for one that is barred or has left.
    Queries: 4.
    """
    body = {"to": to.pk, "note": read_words(note, what="note")}
    return leave(get_colony(colony_id), State.GIVEN, by=by, body=body, day=day)


@one_transaction
def display_colony(
    colony_id: int, *, by: Person, note: str = "", day: date | None = None
) -> Colony:
    """Write down that a colony was placed in the display; it is no longer cut.

    Raises: InputError for a day that cannot be; Conflict for one that has left.
    Queries: 4.
    """
    body = {"note": read_words(note, what="note")}
    return leave(get_colony(colony_id), State.DISPLAYED, by=by, body=body, day=day)


@one_transaction
def offer_whole(
    colony_id: int, *, by: Person, size: str = "mini", heads: int | None = None
) -> Frag:
    """Make a frag of one piece of a whole colony, ready, so that it is sold as any other.

    It keeps variety and colony, so that its lineage, owner and stop-sales are those of the
    colony. Kept as a colony again, it is the colony that it was.
    Raises: InputError for an unknown size; Conflict for a colony that is barred or has left.
    Lock: the rack, then the colony.
    Queries: 9, and 1 for a rack.
    """
    if size not in SIZES:
        raise InputError(f"{size!r} is no size. Use one of {', '.join(SIZES)}.")
    colony = get_colony(colony_id)
    lock_racks([colony.rack_id])
    moment = when()
    (code,) = issue_codes(1, kind=Code.Kind.FRAG)
    away = colony.rack is not None and colony.rack.trough.system.quarantine
    frag = Frag.objects.create(
        **whole_columns(colony, moment=moment), code=code, size=size, heads=heads, **since(away)
    )
    body: dict[str, Any] = {"pieces": 1, "stage": Stage.READY.value, "whole": colony.pk}
    body |= {"size": size, "heads": heads, "quarantined": away, "rack": colony.rack_id}
    note_first([frag], Kind.RECEIVED, moment=moment, by=by, bodies=[body])
    leave(colony, State.SOLD, by=by, body={"frag": frag.pk}, day=None)
    return frag


def since(away: bool) -> dict[str, Any]:
    """Return the columns of what stands in quarantine from now on, or does not."""
    return {"quarantined": away, "quarantined_on": today() if away else None}


def whole_columns(colony: Colony, *, moment: When) -> dict[str, Any]:
    """Return what a frag is that was a whole colony until now."""
    pace = pace_of(colony.variety)
    return {
        "variety_id": colony.variety_id,
        "colony": colony,
        "pieces": 1,
        "free": 1,
        "stage": Stage.READY.value,
        "rack_id": colony.rack_id,
        "cut_on": colony.acquired_on,
        "ready_on": moment.day,
        "seen_on": moment.day,
        "heal_by": heal_by(colony.acquired_on, pace=pace),
        "likely_on": likely_on(colony.acquired_on, pace=pace),
        "last_seq": 1,
    }


def refuse_in_quarantine(colony: Colony) -> None:
    """Refuse to let a colony go straight from quarantine, to the display or to others.

    Raises: Conflict.
    """
    if colony.rack is not None and colony.rack.trough.system.quarantine:
        raise Conflict(
            "This colony stands in quarantine. Change its rack once it may leave there, then "
            "write down where it went."
        )


def refuse_ungivable(colony: Colony) -> None:
    """Refuse to give a colony that a stop-sale holds for.

    Raises: Conflict.
    Queries: 1.
    """
    stop = stops_on(colony).first()
    if stop is not None:
        raise Conflict(
            f"A stop-sale holds for this colony: {stop.reason}, until {stop.ends_when}. "
            "It is not given away before it ends."
        )


def leave(
    colony: Colony, state: State, *, by: Person, body: Mapping[str, Any], day: date | None
) -> Colony:
    """Let a living colony leave, once, and keep in its log where it stood.

    Args: ``colony`` as it was read; one that was moved or changed since does not leave.
    Raises: InputError for a day that cannot be; Conflict.
    Queries: 2, and 1 more for a gift.
    """
    moment = when(day)
    check_day(moment.day, today=today(), earliest=colony.acquired_on)
    if colony.barred_because and state in {State.GIVEN, State.SOLD}:
        raise Conflict(
            f"This colony is barred from sale and giving: {colony.barred_because}. "
            "Only the owner role lifts a bar."
        )
    if state in {State.GIVEN, State.DISPLAYED}:
        refuse_in_quarantine(colony)
    if state == State.GIVEN:
        refuse_ungivable(colony)
    living = Colony.objects.filter(pk=colony.pk, state=State.LIVING.value, rack=colony.rack_id)
    if state in {State.GIVEN, State.SOLD}:
        living = living.filter(barred_because="")
    if not living.update(state=state.value, left_on=moment.day, rack=None):
        if colony.state == State.LIVING:
            raise Conflict("Somebody else has just changed this colony. Open it again.")
        now = STATES.get(colony.state, colony.state).lower()
        raise Conflict(f"This colony has left already: {now}. Bring it back first.")
    rack = colony.rack
    kept = dict(body) | {"rack": None, "system": None}
    if rack is not None:
        kept |= {"rack": rack.pk, "system": rack.trough.system_id}
    note_colony(colony.pk, LEFT[state], by=by, body=kept, moment=moment)
    return colony


@one_transaction
def bring_back(colony_id: int, *, by: Person, because: str = "") -> Colony:
    """Let a colony be kept again that left by mistake, or was not sold after all.

    It stands where it stood, or where nobody knows if it cannot stand there any more. One that
    was offered whole comes back with the piece that it was offered as, which is kept then.
    Returns: the colony with the rack in which it stands now.
    Raises: Conflict for a colony that is here, or whose piece is sold, put aside or gone.
    Lock: the rack, then the frag or the colony.
    Queries: 6, and 8 where it was offered whole.
    """
    colony = get_colony(colony_id)
    if colony.state == State.LIVING:
        raise Conflict("This colony is here already.")
    reason = read_words(because, what="reason")
    left = ColonyEvent.objects.filter(
        colony=colony, kind__in=[kind.value for kind in LEFT.values()]
    )
    last = left.order_by("-pk").first()
    rack = back_in(last, colony=colony, by=by) if last is not None else None
    gone = Colony.objects.filter(pk=colony_id, state=colony.state)
    if not gone.update(state=State.LIVING.value, left_on=None, rack=rack):
        raise Conflict("Somebody else has just changed this colony. Open it again.")
    body = {"because": reason, "rack": rack.pk if rack else None}
    note_colony(colony_id, ColonyKind.BACK, by=by, body=body)
    colony.rack = rack
    return colony


def back_in(last: ColonyEvent, *, colony: Colony, by: Person) -> Rack | None:
    """Return the rack in which a colony stands that comes back, held; None where none is known.

    Args: ``last`` is the event at which it left. Was it offered whole, the piece ends.
    """
    if last.kind == ColonyKind.SOLD_WHOLE:
        held = lock_racks([standing_in(last.body["frag"])])
        return held.get(take_whole_back(last.body["frag"], colony=colony, by=by) or 0)
    stood_in = System.objects.filter(pk=last.body.get("system")).first()
    rack_id = last.body.get("rack")
    return rack_again(lock_racks([rack_id]).get(rack_id), stood_in=stood_in)


def take_whole_back(frag_id: int, *, colony: Colony, by: Person) -> int | None:
    """End the piece as which a colony was offered; return the rack in which it stands.

    Raises: Conflict where it is sold, put aside or gone.
    """
    frag = whole_frag(frag_id)
    body = {"pieces": frag.pieces, "colony": colony.pk}
    change_row(frag, Kind.KEPT, moment=when(), by=by, body=body).save(force_insert=True)
    return frag.rack_id


def whole_frag(frag_id: int) -> Frag:
    """Return a frag of which every piece is here and free; holds that ran out are ended first.

    Raises: Conflict saying what became of it, or who has it.
    """
    end_run_out(frag_id, now=clock.now())
    (frag,) = frags_with([frag_id])
    code = show_code(frag.code_id)
    if frag.stage == Stage.SOLD:
        raise Conflict(f"{code} is sold. Credit the sale first; what comes back can be kept.")
    if frag.stage in ENDED:
        raise Conflict(f"{code} is {frag.stage} and cannot be kept as a colony.")
    if frag.free != frag.pieces:
        whom = ", ".join(sorted({hold.holder for hold in open_holds([frag_id])}))
        raise Conflict(
            f"{code} has {frag.pieces - frag.free} of {frag.pieces} put aside for {whom}. "
            "Let it go first."
        )
    refuse_away(frag)
    return frag


def refuse_away(frag: Frag) -> None:
    """Refuse to keep as a colony what would lose by it that it is set apart or in quarantine.

    Raises: Conflict.
    """
    code = show_code(frag.code_id)
    if frag.apart:
        raise Conflict(f"{code} is set apart. Release it before it is kept as a colony.")
    if frag.quarantined and frag.rack_id is None:
        raise Conflict(
            f"{code} is in quarantine, and nobody knows in which rack. Put it into a rack there "
            "first."
        )
