"""The tray: pictures that a person must file, each with what it may show."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError
from fraginv.base.rules.codes import show_code
from fraginv.base.web import after_asked, form_status, person_of, sent, write_once
from fraginv.front.forms.pictures import ShowsForm
from fraginv.front.queries.scans import label_meant
from fraginv.growth.actions.tray import discard, file_by_hand, take_back
from fraginv.growth.models import Incoming
from fraginv.growth.queries.intake import photographed
from fraginv.growth.queries.proposals import proposals_for
from fraginv.growth.queries.tray import Shown, get_incoming, next_in_tray, shown, tray
from fraginv.growth.rules.intake import State

Choices = Sequence[Mapping[str, str]]


def tray_list(request: HttpRequest) -> HttpResponse:
    """Show the pictures of the tray, and offer to take back the one just thrown away."""
    page = tray(after=after_asked(request))
    told = {
        "page": page,
        "rows": [Shown(row) for row in page.rows],
        "thrown": thrown_asked(request),
    }
    return render(request, "front/tray.html", told)


def thrown_asked(request: HttpRequest) -> Incoming | None:
    """Return the picture that was just thrown away, if it still is."""
    text = request.GET.get("thrown", "")
    if not (text.isascii() and text.isdigit()) or len(text) > 18:
        return None
    row = get_incoming(int(text))
    return row if row.state == State.DISCARDED.value else None


def tray_one(request: HttpRequest, incoming_id: int) -> HttpResponse:
    """Show one picture of the tray with what it may show, and file it under what is chosen."""
    row = get_incoming(incoming_id)
    form = ShowsForm(sent(request))
    choices: Choices = ()
    if form.is_valid():
        try:
            return filed(request, row, form.cleaned_data["code"])
        except FraginvError as error:
            form.add_error(None, error.message)
            choices = error.data.get("choices", [])
    told: dict[str, Any] = {"row": Shown(row), "one": row, "form": form, "choices": choices}
    if row.state == State.TRAY.value:
        told |= {"proposals": proposals_for(row), "next": next_in_tray(row)}
    else:
        told |= {"row": shown([row])[0]}
    return render(request, "front/tray_one.html", told, status=form_status(form))


def filed(request: HttpRequest, row: Incoming, text: str) -> HttpResponse:
    """File a picture, say so, and go on to the next one.

    Raises: as ``label_meant``, ``photographed`` and ``file_by_hand``.
    """
    subject = photographed(label_meant(text).code)

    def do() -> str:
        file_by_hand(row.pk, subject=subject, by=person_of(request))
        rest = next_in_tray(row)
        return reverse("front:tray_one", args=[rest.pk]) if rest else reverse("front:tray")

    done = write_once(request, do)
    messages.success(request, f"{row.name} is filed under {show_code(subject.code_id)}.")
    return done


def throw(request: HttpRequest, incoming_id: int) -> HttpResponse:
    """Throw a picture of the tray away; the tray offers to take it back."""

    def do() -> str:
        row = discard(incoming_id, by=person_of(request))
        return f"{reverse('front:tray')}?thrown={row.pk}"

    return write_once(request, do)


def back(request: HttpRequest, incoming_id: int) -> HttpResponse:
    """Lay a picture that was thrown away back into the tray."""

    def do() -> str:
        row = take_back(incoming_id, by=person_of(request))
        return reverse("front:tray_one", args=[row.pk])

    return write_once(request, do)
