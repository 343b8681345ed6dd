"""What every page that writes does alike."""

import hashlib
from collections.abc import Callable, Sequence
from typing import cast

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse, QueryDict
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from fraginv.base.actions.keeping import answer_once
from fraginv.base.errors import FraginvError, InputError
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.queries.replays import known_answer
from fraginv.base.rules.days import month_of, parse_month
from fraginv.base.rules.month_steps import MonthSteps, steps_from

# No mark of a secret is kept: it could be tried against one password after the other.
UNSIGNED = {"csrfmiddlewaretoken", "replay_key", "password", "present"}
LONGEST_WAY_BACK = 250
LONGEST_ID = 18


class SeeOther(HttpResponseRedirect):
    """Go on with a GET after a write (RFC 9110, section 15.4.4)."""

    status_code = 303


def person_of(request: HttpRequest) -> Person:
    """Return who is signed in; the access table lets nobody else come this far."""
    return cast(Person, request.user)


def sent(request: HttpRequest) -> QueryDict | None:
    """Return what a form was sent with, or None where it is only looked at."""
    return request.POST if request.method == "POST" else None


def way_back(text: str, *, default: str) -> str:
    """Return a path of these pages to go on to, or the default for anything else."""
    safe = url_has_allowed_host_and_scheme(text, allowed_hosts=None)
    return text if safe and len(text) <= LONGEST_WAY_BACK else default


def month_asked(request: HttpRequest) -> MonthSteps:
    """Return the month that a page is asked for, the present one by default, and its neighbours.

    Raises: InputError for what is no month.
    """
    present = month_of(today())
    text = request.GET.get("month", "")
    return steps_from(parse_month(text) if text else present, present=present)


def after_asked(request: HttpRequest) -> int | None:
    """Return the row after which a page of a list begins, or None for the first page.

    Raises: InputError for an address that nobody was given.
    """
    text = request.GET.get("after", "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit()) or len(text) > LONGEST_ID:
        raise InputError("This page of the list is not there. Begin with the first.")
    return int(text)


def write_once(request: HttpRequest, do: Callable[[], str]) -> HttpResponse:
    """Do a write under the form's replay key and go to the page that it names.

    Args: ``do`` runs one action and returns a path.
    Raises: what ``do`` raises; nothing is written then.
    """
    key = request.POST.get("replay_key", "")
    return SeeOther(answer_once(key, by=person_of(request), sent=what_was_sent(request), do=do))


def answered_before(request: HttpRequest) -> HttpResponse | None:
    """Give the answer again where the very same write was done before, or None.

    Raises: Conflict where its key was used by somebody else or for something else.
    Queries: 1 for a form with a key, else none.
    """
    key = request.POST.get("replay_key") if request.method == "POST" else None
    if not key or not isinstance(request.user, Person):
        return None
    answer = known_answer(key, by=request.user, sent=what_was_sent(request))
    return None if answer is None else SeeOther(answer)


def what_was_sent(request: HttpRequest) -> dict[str, object]:
    """Return all that a form was sent with, by which the same again is known."""
    sent: dict[str, object] = {
        name: request.POST.getlist(name) for name in request.POST if name not in UNSIGNED
    }
    sent |= {name: described(request.FILES.getlist(name)) for name in request.FILES}
    sent["path"] = request.path
    return sent


def described(files: "Sequence[UploadedFile[bytes]]") -> list[tuple[str | None, str]]:
    """Return the name and the SHA-256 of each file that was sent, left to be read again."""
    told = []
    for file in files:
        mark = hashlib.sha256()
        for portion in file.chunks():
            mark.update(portion)
        file.seek(0)
        told.append((file.name, mark.hexdigest()))
    return told


def submit(request: HttpRequest, form: BaseForm, do: Callable[[], str]) -> HttpResponse | None:
    """Do a form's write, or put what went wrong on the form.

    Returns: where to go, or None when the page is to be shown again with its errors.
    """
    if request.method != "POST" or not form.is_valid():
        return None
    try:
        return write_once(request, do)
    except FraginvError as error:
        form.add_error(None, error.message)
        return None


def tell(request: HttpRequest, said: Sequence[str]) -> None:
    """Say on the next page what a write came to, in sentences that it left.

    Outside the write, so that one that was tried twice says it once.
    """
    if said:
        messages.success(request, " ".join(said))


def form_status(form: BaseForm) -> int:
    """Return the HTTP status of a page with this form: 400 once it has errors."""
    return 400 if form.is_bound and form.errors else 200


def pdf_response(data: bytes, *, name: str) -> HttpResponse:
    """Answer with a PDF that the browser shows, under a name to save it by."""
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response


def wants_json(request: HttpRequest) -> bool:
    """Tell whether a script of ours asks, which shows the answer by itself."""
    return request.headers.get("Accept") == "application/json"


def error_page(request: HttpRequest, error: FraginvError) -> HttpResponse:
    """Answer with a page that says what is wrong and what to do; to a script in a few words."""
    if wants_json(request):
        return JsonResponse({"code": error.code, "message": error.message}, status=error.status)
    context = {"message": error.message, "status": error.status}
    return render(request, "base/error.html", context, status=error.status)
