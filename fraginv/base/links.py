"""Signed links: a value, what it is for, and when it ends, that nobody but us can write.

The signature is an HMAC with SHA-256 under the signing key and a salt of the purpose's
own, so that a link for one thing never opens another. The end stands in the link: a
later change of rules does not lengthen what was handed out. A link can be used until
it ends; what may be used once alone needs a row that remembers it.
"""

from datetime import UTC, datetime, timedelta
from typing import Final

from django.core.signing import BadSignature, Signer

from fraginv.base import clock
from fraginv.base.errors import FraginvError

Value = str | int

LONGEST_DAYS: Final = 400
LONGEST_TEXT: Final = 2_000


class WrongLink(FraginvError):
    """A link that was not made here, not for this, or was changed on its way."""

    code = "wrong_link"
    status = 404


class EndedLink(FraginvError):
    """A link whose time is over."""

    code = "ended_link"
    status = 410


def sign_link(purpose: str, value: Value, *, days: int) -> str:
    """Return the part of a link that carries a value, safe in an address.

    Args: ``purpose`` is a word of the code, never of a person; ``days`` 1 to 400.
    """
    if not 1 <= days <= LONGEST_DAYS:
        raise ValueError(f"A link lasts 1 to {LONGEST_DAYS} days, not {days}.")
    end = clock.now() + timedelta(days=days)
    return signer_for(purpose).sign_object([value, int(end.timestamp())])


def read_link(purpose: str, text: str) -> Value:
    """Return the value that a link carries.

    Raises: WrongLink where it is not ours, for something else, or damaged;
        EndedLink once its time is over.
    """
    try:
        if len(text) > LONGEST_TEXT:
            raise BadSignature
        value, end = signer_for(purpose).unsign_object(text)
    except BadSignature as error:
        raise WrongLink(
            "This link does not lead anywhere. Open it from where it was sent, whole and "
            "unchanged, or ask for a new one."
        ) from error
    if clock.now() >= datetime.fromtimestamp(end, tz=UTC):
        raise EndedLink("This link has ended. Ask whoever sent it for a new one.")
    found: Value = value
    return found


def signer_for(purpose: str) -> Signer:
    """Return what signs and reads links of one purpose."""
    return Signer(salt=f"fraginv.link.{purpose}")
