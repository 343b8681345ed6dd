"""Keeping frags from sale: apart, in quarantine, kept back."""

from collections.abc import Iterable

from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.rules.codes import show_code
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.models import Rack
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.happenings import Kind


@one_transaction
def set_apart(frag_ids: Iterable[int], *, by: Person, reason: str = "") -> int:
    """Keep frags aside in the same water, not for sale."""
    return change(frags_with(frag_ids), Kind.SET_APART, by=by, body={"reason": reason})


@one_transaction
def quarantine_frags(frag_ids: Iterable[int], *, rack: Rack, by: Person, reason: str = "") -> int:
    """Take frags into a rack of a quarantine system.

    Raises: Conflict where the rack is not in one.
    """
    if not rack.trough.system.quarantine:
        raise Conflict(
            f"{rack} shares water with the display. Quarantine is only in another system."
        )
    ids = list(frag_ids)
    change(frags_with(ids), Kind.QUARANTINED, by=by, body={"reason": reason})
    return change(frags_with(ids), Kind.PLACED, by=by, body={"rack": rack.pk})


@one_transaction
def release_frags(frag_ids: Iterable[int], *, by: Person) -> int:
    """Let frags that were apart or in quarantine be for sale again.

    What was in quarantine has no place until it is put into a rack.
    Raises: Conflict where one is neither.
    """
    frags = frags_with(frag_ids)
    for frag in frags:
        if not (frag.apart or frag.quarantined):
            raise Conflict(f"{show_code(frag.code_id)} is neither apart nor in quarantine.")
    return change(frags, Kind.RELEASED, by=by, body={})


@one_transaction
def keep_back(frag_ids: Iterable[int], *, kept: bool, by: Person) -> int:
    """Keep frags from sale for now, or no longer."""
    return change(frags_with(frag_ids), Kind.KEPT_BACK, by=by, body={"kept": kept})
