"""The list of colonies, narrowed and taken out, and a colony's lineage."""

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import read_code
from fraginv.base.taking_out import csv_response, xlsx_response
from fraginv.base.web import after_asked
from fraginv.front.forms.colonies import ColonyFilterForm
from fraginv.front.narrowing import Narrowing, narrowed_wrongly
from fraginv.front.queries.colony_lists import (
    COLONY_HEADINGS,
    colony_page_of,
    colony_table,
    said_of_colonies,
)
from fraginv.front.queries.colony_pages import lineage_page
from fraginv.front.rules.colony_filters import STATES_ASKED
from fraginv.front.views.narrowed import Write, narrow
from fraginv.stock.queries.colonies import colony_by_code


def colonies(request: HttpRequest) -> HttpResponse:
    """List colonies; with ``?first=`` a printed label is on its way to a cutting."""
    form = ColonyFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    asked = form.asked()
    page = {
        "list": colony_page_of(asked, after=after_asked(request)),
        "state": asked.state,
        "states": STATES_ASKED,
        "text": asked.text,
        "narrowing": Narrowing.of(request, said_of_colonies(asked)),
        "first": request.GET.get("first", "")[:20],
    }
    return render(request, "front/colony_list.html", page)


def colonies_narrow(request: HttpRequest) -> HttpResponse:
    """Ask by what the list of colonies is narrowed."""
    form = ColonyFilterForm(request.GET)
    return narrow(request, form, title="Narrow the colonies", to="front:colonies")


def colonies_csv(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of colonies out as a CSV file."""
    return colonies_as(csv_response, request)


def colonies_xlsx(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of colonies out as a workbook."""
    return colonies_as(xlsx_response, request)


def colonies_as(write: Write, request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of colonies out."""
    form = ColonyFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    return write(COLONY_HEADINGS, colony_table(form.asked()), name="colonies")


def lineage(request: HttpRequest, colony_code: str) -> HttpResponse:
    """Show from which colonies one descends, and which were kept from its frags."""
    colony = colony_by_code(read_code(colony_code))
    page = lineage_page(colony, after=after_asked(request))
    return render(request, "front/lineage_detail.html", {"page": page, "colony": colony})
