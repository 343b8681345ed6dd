"""What happens around every page."""

import logging
import secrets
import time
from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.functional import SimpleLazyObject, empty

from fraginv.base.errors import FraginvError, InputError
from fraginv.base.logs import current
from fraginv.base.models import Organisation
from fraginv.base.queries.organisation import present
from fraginv.base.rules.proxies import client_of, scheme_of
from fraginv.base.web import answered_before, error_page

Answer = Callable[[HttpRequest], HttpResponse]
access = logging.getLogger("fraginv.access")
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"}

# All by which a proxy, or somebody who plays one, may say whom it speaks for.
FORWARDING = (
    "HTTP_FORWARDED",
    "HTTP_X_FORWARDED_FOR",
    "HTTP_X_FORWARDED_HOST",
    "HTTP_X_FORWARDED_PORT",
    "HTTP_X_FORWARDED_PROTO",
    "HTTP_X_FORWARDED_PROTOCOL",
    "HTTP_X_FORWARDED_SERVER",
    "HTTP_X_FORWARDED_SSL",
    "HTTP_X_REAL_IP",
)


class Watch:
    """Stand before or behind every page; what is looked at there, subclasses say."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)


class ProxyMiddleware(Watch):
    """Learn from trusted reverse proxies who asks and by which scheme; it stands first of all.

    What anybody says about forwarding is gone afterwards, so that nothing behind
    this believes it again.
    """

    def __call__(self, request: HttpRequest) -> HttpResponse:
        trusted, peer = settings.ENVIRONMENT.proxies, request.META.get("REMOTE_ADDR", "")
        said = {name: request.META.pop(name) for name in FORWARDING if name in request.META}
        request.META["REMOTE_ADDR"] = client_of(
            peer, forwarded_for=said.get("HTTP_X_FORWARDED_FOR", ""), trusted=trusted
        )
        proto = said.get("HTTP_X_FORWARDED_PROTO", "")
        if scheme := scheme_of(peer, forwarded_proto=proto, trusted=trusted):
            request.META["wsgi.url_scheme"] = scheme
        return self.get_response(request)


class OrganisationMiddleware(Watch):
    """Read the organisation once, and show moments in its time zone."""

    def __call__(self, request: HttpRequest) -> HttpResponse:
        organisation = Organisation.objects.filter(pk=1).first()
        token = present.set(organisation)
        try:
            if organisation is None:
                return self.get_response(request)
            with timezone.override(ZoneInfo(organisation.zone)):
                return self.get_response(request)
        finally:
            present.reset(token)


class PlainErrorMiddleware(Watch):
    """Turn an expected error that no page caught into a page with its message."""

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Answer a FraginvError in plain words with its own status."""
        return error_page(request, exception) if isinstance(exception, FraginvError) else None


class PlainTextMiddleware(Watch):
    """Refuse NUL characters, which no text has and PostgreSQL cannot keep."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Look at the address and at every field that was sent."""
        fields = [*request.GET.lists(), *request.POST.lists()]
        texts = [request.path, *(text for name, values in fields for text in (name, *values))]
        if any("\x00" in str(text) for text in texts):
            error = InputError("What was sent holds a character that no text has. Type it again.")
            return error_page(request, error)
        return None


class ReplayMiddleware(Watch):
    """Answer a form that was sent before with the page that it led to then.

    This stands before the views, so that what has changed since, such as a
    basket that is empty because it was sold, does not hide that it was done.
    """

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Look the form's key up before its view runs."""
        try:
            return answered_before(request)
        except FraginvError as error:
            return error_page(request, error)


class LogMiddleware(Watch):
    """Give every request an identity, and write a line when it is answered.

    Of style sheets, scripts and icons only those that were not there are logged: a page
    asks for some forty of them.
    """

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, then say what was asked for and how long it took."""
        identity, started = secrets.token_hex(8), time.monotonic()
        request.META["fraginv.request"] = identity
        token = current.set({"request": identity})
        try:
            response = self.get_response(request)
            done = facts_of(request, response, seconds=time.monotonic() - started)
            if response.status_code >= 400 or not request.path.startswith(settings.STATIC_URL):
                access.info("answered", extra={"request_done": done})
        finally:
            current.reset(token)
        response["X-Request-Id"] = identity
        return response


def facts_of(request: HttpRequest, response: HttpResponse, *, seconds: float) -> dict[str, Any]:
    """Return what is logged of an answered request; nothing is read from the database for it."""
    match = request.resolver_match
    return {
        "method": request.method if request.method in METHODS else "other",
        "page": match.view_name if match else "none",
        "pattern": match.route if match else "none",
        "status": response.status_code,
        "milliseconds": round(seconds * 1000, 1),
        "person": person_known(request),
    }


def person_known(request: HttpRequest) -> int | None:
    """Return the number of who is signed in where the page has asked for it, else None."""
    person = getattr(request, "user", None)
    if isinstance(person, SimpleLazyObject) and person.__dict__["_wrapped"] is empty:
        return None
    return getattr(person, "pk", None)
