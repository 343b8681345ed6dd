"""Narrowing a list further, and taking it out as a file exactly as it is narrowed."""

from collections.abc import Callable
from typing import Any

from django.http import (
    HttpRequest,
    HttpResponse,
    HttpResponseRedirect,
    StreamingHttpResponse,
)
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.taking_out import csv_response, xlsx_response
from fraginv.base.web import form_status
from fraginv.front.forms.lists import FragFilterForm, offer_places
from fraginv.front.narrowing import narrowed_wrongly
from fraginv.front.queries.asked_things import frag_things
from fraginv.front.queries.frag_table import FRAG_HEADINGS, frag_table
from fraginv.stock.queries.places import places_to_choose

MOST_PLACES = 100
Write = Callable[..., StreamingHttpResponse]


def frags(request: HttpRequest) -> HttpResponse:
    """Ask by what the list of frags is narrowed."""
    return narrow(request, FragFilterForm(request.GET), title="Narrow the frags", to="front:frags")


def narrow(request: HttpRequest, form: Any, *, title: str, to: str) -> HttpResponse:
    """Show all that a list can be narrowed to; go to the list with what was chosen."""
    if "show" in request.GET and form.is_valid():
        return HttpResponseRedirect(f"{reverse(to)}?{filled(request)}")
    if "system" in form.fields:
        offer_places(form, **vars(places_to_choose(most=MOST_PLACES)))
    page = {"form": form, "title": title, "list_url": reverse(to)}
    return render(request, "front/list_narrow.html", page, status=form_status(form))


def filled(request: HttpRequest) -> str:
    """Return what was asked, without what was left empty, so that an address stays short."""
    asked = request.GET.copy()
    for name in [name for name in asked if name == "show" or not str(asked[name]).strip()]:
        del asked[name]
    return asked.urlencode()


def frags_csv(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of frags out as a CSV file."""
    return frags_as(csv_response, request)


def frags_xlsx(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of frags out as a workbook."""
    return frags_as(xlsx_response, request)


def frags_as(write: Write, request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of frags out."""
    form = FragFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    asked = form.asked()
    frag_things(asked)
    return write(FRAG_HEADINGS, frag_table(asked), name="frags")
