"""Losses of a period by cause, variety, colony, trough, and by method and who cut."""

from datetime import timedelta

from django import forms
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from fraginv.base.errors import InputError, NotAllowed
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.roles import Right
from fraginv.base.taking_out import csv_response, xlsx_response
from fraginv.base.web import form_status, person_of
from fraginv.reports.forms import PeriodForm
from fraginv.reports.queries.losses import headings_of, loss_report, report_rows
from fraginv.reports.rules.loss_bars import (
    COMPARING,
    WAYS,
    LossReport,
    Way,
    check_period,
    draw_bars,
)

SHOWN = 100
DAYS = 90


def losses(request: HttpRequest) -> HttpResponse:
    """Show what was lost in a period, as a picture and as a table."""
    form = PeriodForm(request.GET)
    report = report_asked(request, form=form)
    page = {
        "report": report,
        "rows": report.rows[:SHOWN],
        "more": len(report.rows) - SHOWN,
        "bars": draw_bars(report.rows),
        "form": form,
        "ways": ways_for(person_of(request)),
        "heading": WAYS[report.way],
    }
    return render(request, "reports/loss_report.html", page, status=form_status(form))


def csv(request: HttpRequest) -> StreamingHttpResponse:
    """Give the report as a CSV file."""
    report = report_asked(request, form=PeriodForm(request.GET))
    return csv_response(headings_of(report), report_rows(report), name=name_for(report))


def xlsx(request: HttpRequest) -> StreamingHttpResponse:
    """Give the report as a workbook."""
    report = report_asked(request, form=PeriodForm(request.GET))
    return xlsx_response(headings_of(report), report_rows(report), name=name_for(report))


def name_for(report: LossReport) -> str:
    """Return the name to keep a report by."""
    return f"losses-{report.way}-{report.first.isoformat()}-{report.last.isoformat()}"


def ways_for(person: Person) -> list[tuple[str, str]]:
    """Return the ways of counting that a person may look at."""
    may_compare = person.can(Right.COMPARE_CREW)
    return [(way.value, word) for way, word in WAYS.items() if may_compare or way not in COMPARING]


def report_asked(request: HttpRequest, *, form: forms.Form) -> LossReport:
    """Return the report that an address asks for: by cause and of the last 90 days by default.

    A period that cannot be is said on the form, and the usual one shown.
    Raises: InputError for an unknown way of counting; NotAllowed for one that compares people.
    """
    word = request.GET.get("by") or Way.CAUSE.value
    if word not in WAYS:
        raise InputError(f"Losses are counted by one of: {', '.join(WAYS)}.")
    if Way(word) in COMPARING and not person_of(request).can(Right.COMPARE_CREW):
        raise NotAllowed("Comparing tools and people is for managers. Ask one of them.")
    present = today()
    first, last = present - timedelta(days=DAYS - 1), present
    if form.is_valid():
        asked = form.cleaned_data["first"] or first, form.cleaned_data["last"] or last
        try:
            check_period(*asked, today=present)
            first, last = asked
        except InputError as error:
            form.add_error("first", error.message)
    return loss_report(Way(word), first=first, last=last)
