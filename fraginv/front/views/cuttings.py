"""The list of cuttings, narrowed and taken out."""

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from fraginv.base.taking_out import csv_response, xlsx_response
from fraginv.base.web import after_asked
from fraginv.front.forms.cuttings import CuttingFilterForm
from fraginv.front.narrowing import Narrowing, narrowed_wrongly
from fraginv.front.queries.cutting_lists import (
    CUTTING_HEADINGS,
    cutting_list,
    cutting_table,
    cutting_things,
    said_of_cuttings,
)
from fraginv.front.views.narrowed import Write, narrow


def cuttings(request: HttpRequest) -> HttpResponse:
    """List cuttings, the latest first."""
    form = CuttingFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    asked = form.asked()
    said = list(said_of_cuttings(asked, things=cutting_things(asked)))
    page = {
        "list": cutting_list(asked, after=after_asked(request)),
        "narrowing": Narrowing.of(request, said),
    }
    return render(request, "front/cutting_list.html", page)


def cuttings_narrow(request: HttpRequest) -> HttpResponse:
    """Ask by what the list of cuttings is narrowed."""
    form = CuttingFilterForm(request.GET)
    return narrow(request, form, title="Narrow the cuttings", to="front:cuttings")


def cuttings_csv(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of cuttings out as a CSV file."""
    return cuttings_as(csv_response, request)


def cuttings_xlsx(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of cuttings out as a workbook."""
    return cuttings_as(xlsx_response, request)


def cuttings_as(write: Write, request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Take the list of cuttings out."""
    form = CuttingFilterForm(request.GET)
    if not form.is_valid():
        return narrowed_wrongly(request, form)
    asked = form.asked()
    cutting_things(asked)
    return write(CUTTING_HEADINGS, cutting_table(asked), name="cuttings")
