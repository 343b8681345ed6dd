"""What can go wrong, in words for the person who sees it."""

from typing import Any, ClassVar


class FraginvError(Exception):
    """Carry a message that says what is wrong and what to do.

    Attributes: ``code`` is stable for programs, ``status`` the HTTP status of
    the answer, ``message`` plain English, ``data`` what the message is about.
    """

    code: ClassVar[str] = "error"
    status: ClassVar[int] = 400

    def __init__(self, message: str, **data: Any) -> None:
        super().__init__(message)
        self.message = message
        self.data = data


class InputError(FraginvError):
    """Something that was typed, sent or loaded cannot be used as it is."""

    code = "input"
    status = 400


class NotAllowed(FraginvError):
    """The person's role does not cover this."""

    code = "not_allowed"
    status = 403


class NotFound(FraginvError):
    """There is no such thing."""

    code = "not_found"
    status = 404


class Conflict(FraginvError):
    """Somebody or something else got there first, or the state forbids it."""

    code = "conflict"
    status = 409


class Gone(FraginvError):
    """It was there and served its time."""

    code = "gone"
    status = 410


class StoreAway(OSError):
    """The store of files does not answer, or refuses what is asked of it."""
