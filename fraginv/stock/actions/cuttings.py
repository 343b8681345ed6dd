"""Cutting colonies, and receiving pieces that were cut elsewhere."""

from collections.abc import Sequence
from datetime import date

from django.db.models import Q

from fraginv.base import clock
from fraginv.base.actions.codes import bind_codes, issue_codes
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Code, Person
from fraginv.base.queries.organisation import today
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.log import When, note_first, when
from fraginv.stock.actions.rack_locks import rack_in_use
from fraginv.stock.actions.stopped_water import Step, keep_apart, water_of
from fraginv.stock.models import Colony, Cutting, Frag, Rack, Variety
from fraginv.stock.queries.colonies import get_colony, taken_on
from fraginv.stock.queries.varieties import pace_of
from fraginv.stock.rules.colonies import State
from fraginv.stock.rules.cutting import (
    check_day,
    check_dip,
    check_most,
    check_pieces,
    check_rest,
    check_tool,
)
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.ready import heal_by, likely_on
from fraginv.stock.rules.stages import MEDIUMS, Stage


@one_transaction
def cut_colony(
    colony_id: int,
    *,
    pieces: int,
    by: Person,
    lost: int = 0,
    medium: str = "plug",
    lot: bool = False,
    first_code: str = "",
    day: date | None = None,
    despite_rest: str = "",
    rack: Rack | None = None,
    tool: str = "",
    dip: str = "",
) -> Cutting:
    """Record one sitting with one colony: living pieces become frags, or one lot.

    What is cut in water under a stop-sale, and put elsewhere, is set apart.
    Args: ``pieces`` live, ``lost`` more were lost at the bench; ``first_code``
        is the first of a run printed ahead; ``day`` is today unless given.
    Raises: InputError for numbers, a medium, a tool or a day that cannot be; Conflict
        for a colony that is barred or gone, and without a reason for one under rest, or
        of which more is cut than it bears.
    Lock: the rack, then the colony.
    Queries: 15, 1 for a rack, and on SQLite 1 more for about each 25 labels; 1 more where
        the colony has a most; and those of ``keep_apart``.
    """
    rack = rack_in_use(rack)
    colony, moment = get_colony(colony_id), when(day)
    check_pieces(pieces, lost=lost)
    how = check_how(medium, tool=tool, dip=dip)
    reason = check_colony(colony, day=moment.day, taken=pieces + lost, despite_rest=despite_rest)
    lock_rest(colony, day=moment.day)
    columns = {"pieces": pieces, "lost": lost, "as_lot": lot, "despite_rest": reason} | how
    cutting = Cutting.objects.create(
        colony=colony, day=moment.day, month=moment.month, by=by, recorded_at=clock.now(), **columns
    )
    frags = make_frags(cutting, first_code=first_code, moment=moment, by=by, rack=rack)
    keep_apart([step_from(colony, frag, rack=rack) for frag in frags], by=by, moment=moment)
    return cutting


def check_colony(colony: Colony, *, day: date, taken: int, despite_rest: str) -> str:
    """Refuse a colony that is barred, no longer kept, or spared without a reason to cut it.

    Args: ``taken`` pieces are cut, those lost at the bench too.
    Returns: the reason why it is cut under rest or beyond its most, or nothing.
    Raises: InputError for a day that cannot be; Conflict.
    Queries: 1 where the colony has a most.
    """
    check_day(day, today=today(), earliest=colony.acquired_on)
    refuse_uncuttable(colony)
    reason = check_rest(
        day,
        last_cut=colony.last_cut_on,
        rest_days=colony.rest_days,
        despite_rest=despite_rest,
    )
    if colony.most_pieces is None:
        return reason
    before = taken_on(colony, day=day)
    return (
        check_most(before + taken, most=colony.most_pieces, before=before, despite=despite_rest)
        or reason
    )


def check_how(medium: str, *, tool: str, dip: str) -> dict[str, str]:
    """Refuse what frags are not glued to or cut with.

    Returns: the columns of a cutting that say how it was done.
    Raises: InputError.
    """
    check_medium(medium)
    check_tool(tool)
    return {"medium": medium, "tool": tool, "dip": check_dip(dip)}


def check_medium(medium: str) -> None:
    """Refuse what frags are not glued to.

    Raises: InputError.
    """
    if medium not in MEDIUMS:
        raise InputError(f"{medium!r}: frags stand on one of {', '.join(MEDIUMS)}.")


def refuse_uncuttable(colony: Colony) -> None:
    """Refuse a colony that is barred or no longer kept.

    Raises: Conflict.
    """
    if colony.barred_because:
        raise Conflict(
            f"This colony is barred from cutting: {colony.barred_because}. "
            "Only the owner role lifts a bar."
        )
    if colony.state != State.LIVING:
        raise Conflict(f"This colony is {colony.state}; it cannot be cut.")


def lock_rest(colony: Colony, *, day: date) -> None:
    """Move the day of the last cutting on, unless somebody cut, barred or moved it meanwhile.

    One that left is not cut either.
    Raises: Conflict.
    """
    same = Q(last_cut_on=colony.last_cut_on) if colony.last_cut_on else Q(last_cut_on__isnull=True)
    latest = max(day, colony.last_cut_on or day)
    there = Colony.objects.filter(pk=colony.pk, state=State.LIVING.value, barred_because="")
    if not there.filter(same, rack=colony.rack_id).update(last_cut_on=latest):
        raise Conflict("Somebody else has just cut or changed this colony. Open it again.")


def codes_for(count: int, *, first: str) -> Sequence[Code]:
    """Return new codes, or those of labels that were printed ahead."""
    if first.strip():
        return bind_codes(first, count=count, kind=Code.Kind.FRAG)
    return issue_codes(count, kind=Code.Kind.FRAG)


def make_frags(
    cutting: Cutting, *, first_code: str, moment: When, by: Person, rack: Rack | None
) -> list[Frag]:
    """Make a cutting's frags with their first event each.

    Those of a colony in quarantine are in quarantine, as it is.
    """
    away = refuse_mixed_water(cutting.colony, rack)
    pieces, pace = cutting.pieces if cutting.as_lot else 1, pace_of(cutting.colony.variety)
    codes = codes_for(1 if cutting.as_lot else cutting.pieces, first=first_code)
    frags = Frag.objects.bulk_create(
        [
            Frag(
                code=code,
                variety_id=cutting.colony.variety_id,
                colony=cutting.colony,
                cutting=cutting,
                is_lot=cutting.as_lot,
                medium=cutting.medium,
                pieces=pieces,
                free=pieces,
                stage=Stage.HEALING.value,
                rack=rack,
                quarantined=away,
                quarantined_on=cutting.day if away else None,
                cut_on=cutting.day,
                seen_on=cutting.day,
                heal_by=heal_by(cutting.day, pace=pace),
                likely_on=likely_on(cutting.day, pace=pace),
                last_seq=1,
            )
            for code in codes
        ],
        batch_size=500,
    )
    body: dict[str, object] = {"cutting": cutting.pk, "pieces": pieces}
    body |= ({"quarantined": True} if away else {}) | ({"rack": rack.pk} if rack else {})
    note_first(frags, Kind.CUT, moment=moment, by=by, bodies=[body] * len(frags))
    return frags


def step_from(colony: Colony, frag: Frag, *, rack: Rack | None) -> Step:
    """Return the step of what was cut, from where its colony stands to where it stands."""
    left = colony.rack.trough if colony.rack is not None else None
    return Step(frag.pk, water_of(left), water_of(rack.trough if rack is not None else None))


def refuse_mixed_water(colony: Colony, rack: Rack | None) -> bool:
    """Refuse to carry what was cut between quarantine and other water.

    Returns: whether the colony stands in quarantine, and so what is cut from it.
    Raises: Conflict.
    """
    water = colony.rack.trough.system if colony.rack is not None else None
    if water is None or not water.quarantine:
        refuse_quarantine(rack)
        return False
    if rack is not None and rack.trough.system_id != water.pk:
        raise Conflict(
            f"This colony stands in quarantine, and so does what is cut from it. "
            f"Choose a rack in {water}, or none for now."
        )
    return True


def refuse_quarantine(rack: Rack | None) -> None:
    """Refuse to put new frags straight into quarantine water.

    Raises: Conflict.
    """
    if rack is not None and rack.trough.system.quarantine:
        raise Conflict(
            f"{rack} is quarantine. Record the frags without a rack, then quarantine them."
        )


@one_transaction
def receive_frag(
    variety: Variety,
    *,
    pieces: int,
    by: Person,
    medium: str = "plug",
    day: date | None = None,
    rack: Rack | None = None,
) -> Frag:
    """Take in pieces that were cut elsewhere, growing, under one code.

    Raises: InputError for numbers, a medium or a day that cannot be.
    """
    moment, rack = when(day), rack_in_use(rack)
    refuse_quarantine(rack)
    check_pieces(pieces)
    check_medium(medium)
    check_day(moment.day, today=today())
    (code,) = issue_codes(1, kind=Code.Kind.FRAG)
    frag = Frag.objects.create(
        code=code,
        variety=variety,
        is_lot=pieces > 1,
        medium=medium,
        pieces=pieces,
        free=pieces,
        stage=Stage.GROWING.value,
        rack=rack,
        cut_on=moment.day,
        seen_on=moment.day,
        heal_by=heal_by(moment.day, pace=pace_of(variety)),
        likely_on=likely_on(moment.day, pace=pace_of(variety)),
        last_seq=1,
    )
    body: dict[str, object] = {"pieces": pieces, "stage": Stage.GROWING.value}
    if rack is not None:
        body["rack"] = rack.pk
    note_first([frag], Kind.RECEIVED, moment=moment, by=by, bodies=[body])
    return frag
