"""Looking at frags."""

from collections.abc import Iterable, Mapping
from typing import Any

from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.changes import change
from fraginv.stock.queries.frags import frags_with
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import TROUBLES


@one_transaction
def note_photo(frag_id: int, *, photo_id: int, by: Person, unseen: bool = False) -> None:
    """Note in a frag's log that it was photographed.

    Args: ``unseen`` where the photo is of an earlier day, and nobody saw the frag today.
    """
    body: dict[str, Any] = {"photo": photo_id}
    if unseen:
        body["unseen"] = True
    change(frags_with([frag_id]), Kind.PHOTOGRAPHED, by=by, body=body)


@one_transaction
def note_taken_out(frag_id: int, *, photo_id: int, by: Person) -> None:
    """Note in a frag's log that a photo was taken out again, since it shows something else."""
    body = {"photo": photo_id, "out": True, "unseen": True}
    change(frags_with([frag_id]), Kind.PHOTOGRAPHED, by=by, body=body)


@one_transaction
def note_size(frag_id: int, *, measurement_id: int, size: Mapping[str, float], by: Person) -> None:
    """Note in a frag's log that it was measured.

    Args: ``size`` of ``area_mm2``, ``diameter_mm`` and ``heads`` holds what is known.
    """
    body = {"measurement": measurement_id, **size}
    change(frags_with([frag_id]), Kind.SIZED, by=by, body=body)


@one_transaction
def mark_seen(frag_ids: Iterable[int], *, by: Person) -> int:
    """Note that frags were looked at and are fine.

    Returns: how many frags.
    Raises: Conflict for one that does not live here any more.
    """
    return change(frags_with(frag_ids), Kind.INSPECTED, by=by, body={"wrong": "", "clean": True})


@one_transaction
def mark_wrong(frag_ids: Iterable[int], *, wrong: str, by: Person, note: str = "") -> int:
    """Note what is wrong with frags that were looked at.

    Returns: how many frags.
    Raises: InputError for what is not in the list; Conflict for one that does not live here.
    """
    if wrong not in TROUBLES:
        raise InputError("Choose what is wrong from the list; something else is in it.")
    body = {"wrong": wrong, "note": note.strip()}
    return change(frags_with(frag_ids), Kind.INSPECTED, by=by, body=body)
