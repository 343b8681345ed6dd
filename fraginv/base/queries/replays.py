"""Looking up writes that were done already."""

from collections.abc import Mapping
from uuid import UUID

from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Person, ReplayKey
from fraginv.base.rules.fingerprint import fingerprint


def read_key(text: str) -> UUID:
    """Return a form's replay key.

    Raises: InputError for one that is none.
    """
    try:
        return UUID(text)
    except ValueError as error:
        raise InputError("The form came without its key. Open the page again.") from error


def known_answer(key: str, *, by: Person, sent: Mapping[str, object]) -> str | None:
    """Return the answer of a write that was done under this key, or None where none was.

    Raises: InputError for a key that is none; Conflict where it was used by
        somebody else or for something else.
    Queries: 1.
    """
    row = ReplayKey.objects.filter(key=read_key(key)).first()
    return None if row is None else answer_of(row, by=by, sent=sent)


def answer_of(row: ReplayKey, *, by: Person, sent: Mapping[str, object]) -> str:
    """Return the answer of a write that was done, to the same person for the same content.

    Raises: Conflict saying that only the first is done.
    """
    if row.by_id != by.pk:
        raise Conflict(
            "This was sent before by somebody else, and only that is done. Open the page again."
        )
    if row.fingerprint != fingerprint(sent):
        raise Conflict(
            "This was sent before with other content, and only that is done. Open the page again."
        )
    return row.answer
