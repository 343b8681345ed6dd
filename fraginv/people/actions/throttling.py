"""Counting wrong passwords, so that a thousand of them lead nowhere."""

import logging
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.helpers import get_client_username
from axes.models import AccessAttempt
from django.db.models import F

from fraginv.base import clock
from fraginv.base.transactions import one_transaction
from fraginv.people.queries.attempts import sign_in_opens
from fraginv.people.rules.attempts import LOCKED, NAME_LIMIT

log = logging.getLogger(__name__)


class DoorHandler(AxesDatabaseHandler):  # type: ignore[misc] # axes has no types
    """Lock a name at an address, and an address more loosely, by one row for both.

    Unlike its parent it keeps nothing of what was sent and logs no name or
    address, counts whatever browser they come from, and lets nobody who can
    sign in wipe out what was tried for others at the same address.
    """

    def get_failures(self, request: Any, credentials: dict[str, Any] | None = None) -> int:
        """Return the limit while the door is locked, and nothing before."""
        name = get_client_username(request, credentials) or ""
        return NAME_LIMIT if sign_in_opens(name, address=request.axes_ip_address) else 0

    def user_login_failed(
        self, sender: Any, credentials: dict[str, Any], request: Any = None, **rest: Any
    ) -> None:
        """Count a wrong password; while the door is locked nothing is looked at or counted."""
        if request is None or request.axes_locked_out:
            return
        name, address = get_client_username(request, credentials) or "", request.axes_ip_address
        record_wrong(name, address=address)
        if sign_in_opens(name, address=address):
            request.axes_locked_out = True
            log.warning("Sign-in is locked for a while: too many wrong passwords.")

    def user_logged_in(self, sender: Any, request: Any, user: Any, **rest: Any) -> None:
        """Forget nothing: a PIN lets in too, and says nothing of the password.

        Whoever gave the right password is told of by ``forget_wrong``.
        """

    def user_logged_out(self, sender: Any, request: Any, user: Any, **rest: Any) -> None:
        """Keep no list of who was here when."""


@one_transaction
def record_wrong(name: str, *, address: str | None) -> None:
    """Count one wrong password for a name at an address, from one on if the last was long ago.

    Queries: 1, and 5 for the first one.
    """
    now = clock.now()
    rows = AccessAttempt.objects.filter(username=name, ip_address=address, user_agent="")
    fresh = rows.filter(attempt_time__gt=now - LOCKED)
    if fresh.update(failures_since_start=F("failures_since_start") + 1, attempt_time=now):
        return
    prune_attempts()
    AccessAttempt.objects.get_or_create(
        username=name, ip_address=address, user_agent="", defaults={"failures_since_start": 0}
    )
    rows.update(failures_since_start=F("failures_since_start") + 1, attempt_time=now)


@one_transaction
def forget_wrong(name: str, *, address: str | None) -> None:
    """Forget the wrong passwords of somebody who gave the right one, at this address alone.

    Queries: 1.
    """
    AccessAttempt.objects.filter(username=name, ip_address=address).delete()


@one_transaction
def prune_attempts() -> int:
    """Take away the wrong passwords that lock nothing any more, and say how many rows went.

    Queries: 1.
    """
    old = AccessAttempt.objects.filter(attempt_time__lte=clock.now() - LOCKED)
    return int(old.delete()[0])
