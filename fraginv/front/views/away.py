"""What is kept away: in quarantine, or set apart in the same water."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.web import after_asked, person_of
from fraginv.front.queries.away import apart_page, quarantine_page
from fraginv.front.views.steps import may_choose


def quarantine(request: HttpRequest) -> HttpResponse:
    """Show what is in quarantine, what may leave first."""
    page = {
        "page": quarantine_page(after=after_asked(request)),
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/quarantine.html", page)


def apart(request: HttpRequest) -> HttpResponse:
    """Show what is set apart, since when and why."""
    rows, portion = apart_page(after=after_asked(request))
    page = {
        "rows": rows,
        "portion": portion,
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/apart.html", page)
