"""Rounds: what is due where, and one tap for a rack that is fine."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.web import after_asked, person_of
from fraginv.front.queries.systems import troughs_of
from fraginv.front.queries.walks import due_in, in_no_rack, racks_of, walked_past
from fraginv.front.views.steps import may_choose
from fraginv.stock.queries.places import get_system, get_trough
from fraginv.stock.queries.stops import stops_in_system, stops_in_water
from fraginv.stock.rules.rounds import DUE_WORDS, Due

MOST_DUE = 60


def rounds(request: HttpRequest) -> HttpResponse:
    """List the racks as one walks past them, with what is due in each."""
    page, rows = walked_past(after=after_asked(request))
    left = [row for row in rows if not row.is_seen_today]
    shown = {
        "page": page,
        "rows": rows,
        "left": len(left),
        "astray": in_no_rack() if page.is_first else [],
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/rounds.html", shown)


def trough(request: HttpRequest, trough_id: int) -> HttpResponse:
    """Show a trough's racks side by side, and what is due in it today."""
    found = get_trough(trough_id)
    rows = racks_of(found)
    only = next((due for due in Due if due == request.GET.get("due")), None)
    due, count = due_in(rows, only=only, most=MOST_DUE)
    counts = [
        (key.value, DUE_WORDS[key][1], total)
        for key in Due
        if (total := sum(row.summed.due[key] for row in rows))
    ]
    shown = {
        "trough": found,
        "rows": rows,
        "due": due,
        "stops": stops_in_water(found),
        "count": count,
        "counts": counts,
        "only": only,
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/trough_detail.html", shown)


def system(request: HttpRequest, system_id: int) -> HttpResponse:
    """Show a system's troughs, what stands in them and when they were seen."""
    found = get_system(system_id)
    page, rows = troughs_of(found, after=after_asked(request))
    shown = {"system": found, "page": page, "troughs": rows, "stops": stops_in_system(found)}
    return render(request, "front/system_detail.html", shown)
