"""Visits begin with signing in, and end by themselves when nobody is there any more."""

from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth import get_user
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse
from django.utils.functional import SimpleLazyObject

from fraginv.base import clock
from fraginv.base.middleware import Watch
from fraginv.base.models import Person
from fraginv.people.rules.visits import has_ended, length_of

STARTED, SEEN, BY_PIN = "visit_started", "visit_seen", "visit_by_pin"
# How exactly a visit's rest is known: each page within it writes nothing.
TOUCHED = timedelta(minutes=5)


class VisitMiddleware(Watch):
    """Let nobody be signed in whose visit has rested or lasted too long.

    The person is looked up when a page first asks for it, as before, so that
    pages which do not care who reads them cost nothing more.
    """

    def __call__(self, request: HttpRequest) -> HttpResponse:
        asked = SimpleLazyObject(lambda: who_visits(request))
        request.user = asked  # type: ignore[assignment] # it stands for whom it finds
        return self.get_response(request)


def who_visits(request: HttpRequest) -> Person | AnonymousUser:
    """Return who is signed in, and end a visit that has lasted too long."""
    person = get_user(request)
    if not isinstance(person, Person):
        return AnonymousUser()
    now = clock.now()
    started, seen = moment_of(request, STARTED), moment_of(request, SEEN)
    if started is None or seen is None:
        begin_visit(None, request=request, user=person)
        return person
    length = length_of(person.role, by_pin=request.session.get(BY_PIN, False))
    if has_ended(length, started=started, seen=seen, at=now):
        request.session.flush()
        return AnonymousUser()
    if now - seen > TOUCHED:
        request.session[SEEN] = now.isoformat()
    return person


def begin_visit(sender: Any, *, request: HttpRequest, user: Person, **rest: Any) -> None:
    """Write down when a visit began, whichever way somebody came in."""
    now = clock.now().isoformat()
    request.session[STARTED] = request.session[SEEN] = now
    length = length_of(user.role, by_pin=request.session.get(BY_PIN, False))
    request.session.set_expiry(int(length.idle.total_seconds()))


def moment_of(request: HttpRequest, name: str) -> datetime | None:
    """Return a moment that the session keeps, or None."""
    text = request.session.get(name)
    return datetime.fromisoformat(text) if isinstance(text, str) else None
