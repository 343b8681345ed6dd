"""The cutting bench: which colony next, and what was cut so far."""

from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError
from fraginv.base.rules.codes import CodeError, read_code
from fraginv.base.web import person_of
from fraginv.front.queries.bench import Asked, asked_at_bench, bench_page

LONGEST = 200


def bench(request: HttpRequest) -> HttpResponse:
    """Choose a colony, by a tap, its code or its name; ``?first=`` is a label on its way."""
    text = request.GET.get("q", "").strip()[:LONGEST]
    first = label_asked(request.GET.get("first", ""))
    found, error, status = None, "", 200
    if text:
        try:
            found = asked_at_bench(text)
        except FraginvError as problem:
            error, status = problem.message, problem.status
    if found is not None and goes_on(found):
        return HttpResponseRedirect(way_on(found, first=first))
    page = {
        "page": bench_page(person_of(request)),
        "found": found,
        "text": text,
        "first": first,
        "error": error,
    }
    return render(request, "front/bench.html", page, status=status)


def label_asked(text: str) -> str:
    """Return the label that is on its way to a cutting, or nothing for what is no code."""
    try:
        return read_code(text[:LONGEST]) if text else ""
    except CodeError:
        return ""


def goes_on(found: Asked) -> bool:
    """Tell whether what was asked for is one thing, so that nothing is left to choose."""
    return bool(found.label) or (len(found.rows) == 1 and not found.said)


def way_on(found: Asked, *, first: str) -> str:
    """Return where the one thing leads: to the cutting of a colony, or a label's choice."""
    if found.label:
        return f"{reverse('front:bench')}?{urlencode({'first': found.label})}"
    path = reverse("stock:cut", args=[found.rows[0].colony.code_id])
    return f"{path}?{urlencode({'first': first})}" if first else path
