"""Wrong passwords lately, and whether they lock the door."""

from datetime import datetime
from typing import Any

from axes.models import AccessAttempt

from fraginv.base import clock
from fraginv.base.rules.proxies import neighbourhood
from fraginv.people.rules.attempts import LOCKED, Wrong, lock_ends


def address_of(request: Any) -> str | None:
    """Return the address by which a request's wrong passwords are counted.

    Queries: none.
    """
    return neighbourhood(request.META.get("REMOTE_ADDR") or "")


def sign_in_opens(name: str, *, address: str | None) -> datetime | None:
    """Return until when a name is locked at an address, or None if it is not.

    Names that nobody has are locked as others are.
    Queries: 1.
    """
    now = clock.now()
    rows = AccessAttempt.objects.filter(ip_address=address, attempt_time__gt=now - LOCKED)
    found = rows.values_list("username", "failures_since_start", "attempt_time")
    return lock_ends((Wrong(*row) for row in found), name=name, at=now)
