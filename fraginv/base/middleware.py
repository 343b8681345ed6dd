"""What happens around every page."""

from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from fraginv.base.errors import FraginvError, InputError
from fraginv.base.models import Organisation
from fraginv.base.queries.organisation import present
from fraginv.base.web import answered_before, error_page

Answer = Callable[[HttpRequest], HttpResponse]


class Watch:
    """Stand before or behind every page; what is looked at there, subclasses say."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
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
