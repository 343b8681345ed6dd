"""Sessions in the database, whose loss says nothing untrue about what was written before."""

from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import UpdateError
from django.db import InternalError, OperationalError


class SessionStore(db.SessionStore):
    """A session that is saved after its page was made, so that the page may stand already.

    Django takes every failure to save for a session that is gone, and refuses
    the request as if it had never been read.
    """

    def save(self, must_create: bool = False) -> None:
        """Save it; one that somebody ended meanwhile stays ended, and the page is answered.

        Raises: the database's own error where it is the database that gave way.
        """
        lost = None
        try:
            super().save(must_create)
        except UpdateError as error:
            lost = error.__context__
        if isinstance(lost, OperationalError | InternalError):
            raise lost
