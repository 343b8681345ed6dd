"""Keeping a frag as a mother colony."""

from typing import Any

from fraginv.base.actions.codes import issue_codes
from fraginv.base.errors import Conflict
from fraginv.base.models import Code, Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.bars import bar_bound, lock_line
from fraginv.stock.actions.changes import change_row
from fraginv.stock.actions.colony_log import note_colony
from fraginv.stock.actions.leaving import bring_back, whole_frag
from fraginv.stock.actions.log import when
from fraginv.stock.models import Colony, Frag, FragEvent
from fraginv.stock.rules.colonies import (
    STATES,
    ColonyKind,
    Origin,
    State,
    check_rest_days,
    read_words,
)
from fraginv.stock.rules.happenings import Kind


@one_transaction
def keep_as_colony(
    frag_id: int, *, by: Person, rest_days: int | None = None, note: str = ""
) -> Colony:
    """Keep a frag, with all its pieces, as a mother colony with a code of its own.

    It inherits bar, owner, terms and days of rest of the colony it was cut from, else the
    papers of the arrival it came with. What was a colony offered whole is that colony again,
    and what came back of a frag that was kept before goes to the colony that it became.
    Args: ``rest_days`` as its mother's unless given, 30 without one.
    Raises: InputError for days of rest that cannot be; Conflict where a piece is put aside
        or the frag has left.
    Lock: the first colony of its line.
    Queries: 15.
    """
    was = whole_before(frag_id)
    if was is not None:
        return bring_back(was, by=by, because=note)
    if rest_days is not None:
        check_rest_days(rest_days)
    told = read_words(note, longest=4000, what="note")
    frag = Frag.objects.select_related("arrival").get(pk=whole_frag(frag_id).pk)
    kept = Colony.objects.filter(from_frag=frag).first()
    if kept is not None:
        return keep_more(frag, colony=kept, by=by)
    return keep_anew(frag, rest_days=rest_days, note=told, by=by)


def keep_anew(frag: Frag, *, rest_days: int | None, note: str, by: Person) -> Colony:
    """Keep a frag as a colony that there was not yet.

    Queries: 11.
    """
    mother = locked_mother(frag)
    facts = inherited(mother) if mother else from_arrival(frag)
    if rest_days is not None:
        facts["rest_days"] = rest_days
    moment = when()
    (code,) = issue_codes(1, kind=Code.Kind.COLONY)
    colony = Colony.objects.create(
        code=code,
        variety_id=frag.variety_id,
        from_frag=frag,
        mother=mother,
        acquired_on=moment.day,
        rack_id=frag.rack_id,
        note=note,
        **facts,
    )
    body = {"pieces": frag.pieces, "colony": colony.pk}
    change_row(frag, Kind.KEPT, moment=moment, by=by, body=body).save(force_insert=True)
    note_colony(colony.pk, ColonyKind.KEPT, by=by, body={"frag": frag.pk}, moment=moment)
    bar_bound(colony, by=by)
    return colony


def keep_more(frag: Frag, *, colony: Colony, by: Person) -> Colony:
    """Keep pieces that came back with the colony that the others of their frag became.

    Raises: Conflict for a colony that has left, or pieces in quarantine.
    """
    if frag.quarantined:
        raise Conflict(
            f"{show_code(frag.code_id)} is in quarantine. Release it first; then it may come to "
            f"its colony {show_code(colony.code_id)}."
        )
    if colony.state != State.LIVING:
        state = STATES.get(colony.state, colony.state).lower()
        raise Conflict(
            f"{show_code(frag.code_id)} was kept as colony {show_code(colony.code_id)} before, "
            f"which has left: {state}. Bring that colony back first, or leave these pieces frags."
        )
    moment = when()
    body = {"pieces": frag.pieces, "colony": colony.pk}
    change_row(frag, Kind.KEPT, moment=moment, by=by, body=body).save(force_insert=True)
    note_colony(colony.pk, ColonyKind.KEPT, by=by, body={"frag": frag.pk}, moment=moment)
    return colony


def whole_before(frag_id: int) -> int | None:
    """Return the colony that a frag was when it was offered whole, or None.

    Queries: 1.
    """
    first = FragEvent.objects.filter(frag=frag_id, seq=1).first()
    whole = first.body.get("whole") if first else None
    return whole if isinstance(whole, int) else None


def locked_mother(frag: Frag) -> Colony | None:
    """Return the colony that a frag was cut from, as it is once nobody else can bar it."""
    if frag.colony_id is None:
        return None
    lock_line(frag.colony_id)
    return Colony.objects.get(pk=frag.colony_id)


def inherited(mother: Colony) -> dict[str, Any]:
    """Return what a colony has from the one that it was cut from."""
    return {
        "origin": Origin.CUT_HERE.value,
        "owner_id": mother.owner_id,
        "owner_share": mother.owner_share,
        "owner_least": mother.owner_least,
        "rest_days": mother.rest_days,
        "most_pieces": mother.most_pieces,
        "barred_because": mother.barred_because,
    }


def from_arrival(frag: Frag) -> dict[str, Any]:
    """Return what a colony has from the arrival that its frag came with.

    Of a frag that is written down without one it is only known that it was not cut here.
    """
    came = frag.arrival
    if came is None:
        return {"origin": Origin.BOUGHT.value}
    return {
        "origin": came.origin,
        "supplier_id": came.supplier_id,
        "invoice": came.invoice,
        "permit": came.permit,
        "source_code": came.source_code,
    }
