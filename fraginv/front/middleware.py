"""The door: every page is checked against the access table before it runs."""

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render

from fraginv.base.errors import NotAllowed
from fraginv.base.middleware import Watch
from fraginv.base.models import Person
from fraginv.base.queries.organisation import present
from fraginv.base.web import error_page, wants_json
from fraginv.front.access import ACCESS, PUBLIC, SIGNED_IN, Need

WITHOUT_HOUSE = {"front:begin", "upkeep:health"}
SIGN_IN = {"code": "sign_in", "message": "Sign in again. What was not sent is kept until then."}


class BeginMiddleware(Watch):
    """Answer every page alike while there is no organisation, but for those that need none."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Say where the link is with which the house is set up; strangers get no further."""
        match = request.resolver_match
        if present.get() is not None or (match and match.view_name in WITHOUT_HOUSE):
            return None
        answer = render(request, "front/begin_wait.html", status=503)
        answer._has_been_logged = True  # type: ignore[attr-defined] # it is as it should be
        return answer


class AccessMiddleware(Watch):
    """Let a request through only where the table says that the person may."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        """Send strangers to the sign-in page and refuse roles that lack the right."""
        need = need_of(request)
        if need is None:
            return error_page(request, NotAllowed("This page cannot be used in that way."))
        if need == PUBLIC:
            return None
        person = request.user
        if not isinstance(person, Person):
            return to_sign_in(request)
        if need == SIGNED_IN or person.can(need):
            return None
        text = f"Your role, {person.role}, does not cover this. Ask somebody whose role does."
        return error_page(request, NotAllowed(text))


def need_of(request: HttpRequest) -> Need | None:
    """Return what a request needs, or None where the table does not list its page or method."""
    match = request.resolver_match
    row = ACCESS.get(match.view_name, {}) if match else {}
    method = "GET" if request.method in {"HEAD", "OPTIONS"} else request.method or "GET"
    return row.get(method)


def to_sign_in(request: HttpRequest) -> HttpResponse:
    """Go to the sign-in page, and from there back to where a GET wanted to go.

    A script is told so instead: it would take the sign-in page for its answer.
    """
    if wants_json(request):
        return JsonResponse(SIGN_IN, status=401)
    wanted = request.get_full_path() if request.method == "GET" else "/"
    return HttpResponseRedirect(f"{settings.LOGIN_URL}?{urlencode({'next': wanted})}")
