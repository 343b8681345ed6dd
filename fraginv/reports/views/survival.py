"""How many frags live on, by their age."""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render

from fraginv.base.errors import FraginvError
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import read_code
from fraginv.base.rules.roles import Right
from fraginv.base.taking_out import csv_response
from fraginv.base.web import form_status, person_of
from fraginv.reports.forms import CohortForm
from fraginv.reports.queries.survival import (
    HEADINGS,
    Cohort,
    Survival,
    survival_of,
    survival_rows,
)
from fraginv.reports.rules.curve import draw_curve
from fraginv.reports.rules.loss_bars import check_period
from fraginv.stock.queries.colonies import colony_by_code

DAYS = 365
SHOWN = 60


def survival(request: HttpRequest) -> HttpResponse:
    """Show the share alive by age of frags that were cut in a period."""
    form = form_for(request)
    found = survival_asked(form)
    page = {
        "found": found,
        "curve": found.curve,
        "steps": found.curve.steps[:SHOWN],
        "more": len(found.curve.steps) - SHOWN,
        "picture": draw_curve(found.curve),
        "form": form,
    }
    return render(request, "reports/survival.html", page, status=form_status(form))


def csv(request: HttpRequest) -> StreamingHttpResponse:
    """Give every step of the curve as a CSV file."""
    found = survival_asked(form_for(request))
    name = f"survival-{found.cohort.first.isoformat()}-{found.cohort.last.isoformat()}"
    return csv_response(HEADINGS, survival_rows(found), name=name)


def form_for(request: HttpRequest) -> CohortForm:
    """Return the question which frags are followed; how they were cut only for who compares."""
    form = CohortForm(request.GET)
    if not person_of(request).can(Right.COMPARE_CREW):
        form.without_methods()
    return form


def survival_asked(form: CohortForm) -> Survival:
    """Return the curve that is asked for: of all that was cut in the last year by default.

    What cannot be asked is said on the form, and left out.
    """
    present = today()
    first, last = present - timedelta(days=DAYS - 1), present
    asked = dict(form.cleaned_data) if form.is_valid() else {}
    first, last = asked.pop("first", None) or first, asked.pop("last", None) or last
    colony = None
    try:
        typed = asked.pop("colony", "")
        colony = colony_by_code(read_code(typed)) if typed else None
    except FraginvError as error:
        form.add_error("colony", error.message)
    try:
        check_period(first, last, today=present)
    except FraginvError as error:
        form.add_error("first", error.message)
        first, last = present - timedelta(days=DAYS - 1), present
    return survival_of(Cohort(first, last, colony=colony, **asked))
