"""Letting somebody in: after the password, after the second step, or by PIN."""

from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import authenticate, login, logout
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.people import people_active
from fraginv.base.show import show_clock
from fraginv.base.web import SeeOther, way_back
from fraginv.people.actions.phones import remember_phone
from fraginv.people.actions.throttling import forget_wrong
from fraginv.people.middleware import BY_PIN
from fraginv.people.queries.attempts import address_of, sign_in_opens
from fraginv.people.queries.factors import has_factor
from fraginv.people.rules.attempts import whole_minute
from fraginv.people.rules.factors import ASKED

BACKEND = "django.contrib.auth.backends.ModelBackend"
PHONE = "__Host-phone" if settings.SESSION_COOKIE_SECURE else "phone"
PHONE_DAYS = 400  # as long as browsers keep a cookie
PENDING = "second_step"
PENDING_LASTS = timedelta(minutes=5)
LATER = "factor_later"
LATER_DAYS = 7
LOCKED = (
    "There were too many wrong tries for this name from here. Wait until {}, then try once more, "
    "or let an owner give you a link."
)


def person_by_password(
    request: HttpRequest, form: BaseForm, *, username: str, password: str, wrong: str
) -> Person | None:
    """Return whose name and password these are, or say on the form that they are nobody's.

    Args: ``wrong`` is what to say; it is the same for names that nobody has.
    """
    person = authenticate(request, username=username, password=password)
    if isinstance(person, Person):
        return person
    opens = sign_in_opens(username, address=address_of(request))
    if opens is not None:
        wrong = LOCKED.format(show_clock(whole_minute(opens), organisation()))
    form.add_error(None, wrong)
    return None


def come_in(request: HttpRequest, person: Person, *, wanted: str) -> HttpResponse:
    """Let in who has just proved who it is by password or link, or lead to the second step.

    Until that is done nobody is signed in: the session knows only who is at
    the door, for five minutes.
    """
    if not has_factor(person):
        return let_in(request, person, wanted=wanted)
    logout(request)
    request.session[PENDING] = {
        "person": person.pk,
        "hash": person.get_session_auth_hash(),
        "since": clock.now().isoformat(),
        "wanted": wanted,
    }
    return SeeOther(reverse("people:second"))


def who_waits(request: HttpRequest) -> tuple[Person, str] | None:
    """Return who gave the password within five minutes and where they wanted to go, or None."""
    told: dict[str, Any] | None = request.session.get(PENDING)
    if told is None:
        return None
    waited = clock.now() - datetime.fromisoformat(told["since"])
    person = people_active().filter(pk=told["person"]).first()
    in_time = timedelta(0) <= waited <= PENDING_LASTS
    if not in_time or person is None or person.get_session_auth_hash() != told["hash"]:
        del request.session[PENDING]
        return None
    return person, way_back(told["wanted"], default="/")


def let_in(request: HttpRequest, person: Person, *, wanted: str) -> HttpResponse:
    """Begin a visit of somebody who gave all that is asked, and know them on this phone."""
    forget_wrong(person.username, address=address_of(request))
    begin(request, person, by_pin=False)
    answer = SeeOther(offer_before(request, person, wanted=wanted))
    token = remember_phone(person, token=request.COOKIES.get(PHONE, ""))
    keep_cookie(answer, PHONE, token, days=PHONE_DAYS)
    return answer


def let_in_by_pin(request: HttpRequest, person: Person) -> HttpResponse:
    """Begin a visit of somebody whom this phone knows, on the start page."""
    begin(request, person, by_pin=True)
    messages.success(request, f"You are {person.name} now.")
    return SeeOther("/")


def begin(request: HttpRequest, person: Person, *, by_pin: bool) -> None:
    """End whatever visit there was and begin another, with new keys for session and forms."""
    logout(request)
    if by_pin:
        request.session[BY_PIN] = True
    login(request, person, backend=BACKEND)


def offer_before(request: HttpRequest, person: Person, *, wanted: str) -> str:
    """Return where to go first: managers and owners without a second step are offered one."""
    is_asked = person.role in ASKED and not organisation().is_demo
    if not is_asked or later_of(person) in request.COOKIES or has_factor(person):
        return wanted
    return f"{reverse('people:factor')}?{urlencode({'next': wanted})}"


def later_of(person: Person) -> str:
    """Return the cookie by which a browser knows that somebody said not now."""
    return f"{LATER}_{person.pk}"


def keep_cookie(answer: HttpResponse, name: str, value: str, *, days: int) -> None:
    """Let the browser keep something that no script can read."""
    answer.set_cookie(
        name,
        value,
        max_age=timedelta(days=days),
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )
