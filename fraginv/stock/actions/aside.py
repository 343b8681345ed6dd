"""Keeping frags from sale: apart, in quarantine, kept back."""

from collections.abc import Iterable

from django.db.models import Q

from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Right
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change, change_row
from fraginv.stock.actions.log import when
from fraginv.stock.actions.rack_locks import rack_in_use
from fraginv.stock.models import Frag, FragEvent, Rack
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.queries.quarantine import stays_of
from fraginv.stock.queries.stops import stop_in_quarantines, stop_left_by
from fraginv.stock.rules.colonies import NOT_OURS
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.quarantine import check_release


@one_transaction
def set_apart(frag_ids: Iterable[int], *, by: Person, reason: str = "") -> int:
    """Keep frags aside in the same water, not for sale."""
    return change(frags_with(frag_ids), Kind.SET_APART, by=by, body={"reason": reason})


@one_transaction
def quarantine_frags(frag_ids: Iterable[int], *, rack: Rack, by: Person, reason: str = "") -> int:
    """Take frags into a rack of a quarantine system.

    What comes out of another quarantine begins its stay anew.
    Raises: Conflict where the rack is not in one, or out of use.
    Lock: the rack, then the frags.
    """
    rack = rack_in_use(rack) or rack
    if not rack.trough.system.quarantine:
        raise Conflict(
            f"{rack} shares water with the display. Quarantine is only in another system."
        )
    ids = list(frag_ids)
    here = Q(rack__trough__system=rack.trough.system_id)
    elsewhere = Frag.objects.filter(~here | Q(rack__isnull=True), pk__in=ids, quarantined=True)
    others = set(elsewhere.values_list("pk", flat=True))
    moment = when()
    written = [
        change_row(
            frag,
            Kind.QUARANTINED,
            moment=moment,
            by=by,
            body={"reason": reason} | ({"anew": True} if frag.pk in others else {}),
        )
        for frag in frags_with(ids)
    ]
    FragEvent.objects.bulk_create(written, batch_size=500)
    return change(frags_with(ids), Kind.PLACED, by=by, body={"rack": rack.pk}, moment=moment)


@one_transaction
def release_frags(frag_ids: Iterable[int], *, by: Person, despite: str = "") -> int:
    """Let frags that were apart or in quarantine be for sale again.

    What was in quarantine has no place until it is put into a rack.
    Args: ``despite`` says why something leaves quarantine before its time.
    Raises: Conflict where one is neither, or its quarantine, or the water that it came out of,
        is under a stop-sale still, or it has not been there long enough or found clean often
        enough, and nobody who may says why it leaves all the same.
    Queries: 1, 2 where something is in quarantine, 2 where something is set apart, and those
        of ``change``.
    """
    frags = frags_with(frag_ids)
    stays, despite = stays_of(frags), despite.strip()
    early = by.can(Right.RELEASE_EARLY)
    if not (despite and early):
        refuse_out_of_stopped(frags)
    for frag in frags:
        code = show_code(frag.code_id)
        if not (frag.apart or frag.quarantined):
            raise Conflict(f"{code} is neither apart nor in quarantine.")
        if frag.pk in stays:
            stay = stays[frag.pk]
            check_release(code, stay, today=today(), despite=despite, may_early=early)
    body = {"despite": despite} if despite else {}
    return change(frags, Kind.RELEASED, by=by, body=body)


def refuse_out_of_stopped(frags: Iterable[Frag]) -> None:
    """Refuse to let frags go for whose water, or that which they came out of, a stop-sale holds.

    Where nobody knows in which quarantine one stands, any that holds there counts.
    Raises: Conflict.
    Queries: 1 where one is in quarantine, and 2 where one is set apart.
    """
    frags = list(frags)
    stop = stop_in_quarantines(frag for frag in frags if frag.quarantined)
    if stop is not None:
        raise Conflict(
            f"A stop-sale holds in this quarantine: {stop.reason}. Let them out once it has "
            "ended; a manager may before, with a reason."
        )
    stop = stop_left_by(frag.pk for frag in frags if frag.apart)
    if stop is not None:
        raise Conflict(
            f"A stop-sale still holds in the water that they came out of: {stop.reason}. Release "
            "them once it has ended; a manager may before, with a reason."
        )


@one_transaction
def keep_back(frag_ids: Iterable[int], *, kept: bool, by: Person) -> int:
    """Keep frags from sale for now, or no longer.

    Raises: Conflict where pieces that are not ours would be for sale by another than may
        lift a bar.
    Queries: 1 more where they are kept no longer.
    """
    ids = list(frag_ids)
    if not kept and not by.can(Right.LIFT_BAR):
        refuse_not_ours(ids)
    return change(frags_with(ids), Kind.KEPT_BACK, by=by, body={"kept": kept})


def refuse_not_ours(frag_ids: Iterable[int]) -> None:
    """Refuse to cut, sell or give what came in on loan or held for an authority and is kept back.

    Raises: Conflict.
    Queries: 1.
    """
    kept = Frag.objects.filter(pk__in=list(frag_ids), kept_back=True, colony__isnull=True)
    code = kept.filter(arrival__origin__in=NOT_OURS).values_list("code_id", flat=True).first()
    if code is not None:
        raise Conflict(
            f"{show_code(code)} came in on loan or is held for an authority: it is not cut, sold "
            "or given. Only the owner role ends that, by not keeping it back any longer.",
            code=code,
        )
