"""Racks as they are drawn, and what is done from there with one tap."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import address_path, read_code, show_code
from fraginv.base.web import form_status, person_of, submit, way_back, write_once
from fraginv.front.forms.racks import TroubleForm
from fraginv.front.noting import note_trouble
from fraginv.front.queries.racks import (
    RackPage,
    drawn_rack,
    piece_by_code,
    rack_with_photos,
)
from fraginv.front.rules.drawn import MARKS, say_event, say_hole, say_seen
from fraginv.front.views.steps import may_choose
from fraginv.stock.actions.looks import mark_seen
from fraginv.stock.actions.moving import check_hole
from fraginv.stock.actions.racks import see_rack
from fraginv.stock.models import Rack, StopSale
from fraginv.stock.queries.holes import in_hole
from fraginv.stock.queries.places import rack_by_code
from fraginv.stock.queries.rounds import watched
from fraginv.stock.queries.stops import stops_in_water
from fraginv.stock.rules.rounds import Due, say_due
from fraginv.stock.rules.stages import SIZES, TROUBLES, say_trouble


def rack_for_crew(request: HttpRequest, code: str) -> HttpResponse:
    """Show a rack as it is drawn, or as a list in which many may be chosen."""
    rack, photos = rack_with_photos(code)
    page = drawn_rack(rack)
    events = [
        {"text": say_event(event.kind, event.body), "at": event.at, "by": event.by.name}
        for event in page.events
    ]
    shown = {
        "rack": rack,
        "page": page,
        "events": events,
        "photos": photos,
        "marks": MARKS.items(),
        "stops": stops_here(page),
        "show": "list" if request.GET.get("show") == "list" else "",
        "choosing": may_choose(person_of(request)),
        "back": request.get_full_path(),
    }
    return render(request, "front/rack_detail.html", shown)


def stops_here(page: RackPage) -> list[StopSale]:
    """Return the stop-sales of a rack's water.

    Queries: 1 where a frag in it is stopped, or where none stands in it that would tell.
    """
    if page.pieces and not any("stop-sale" in piece.row.flags for piece in page.pieces):
        return []
    return list(stops_in_water(page.rack.trough))


def frag(request: HttpRequest, rack_code: str, frag_code: str) -> HttpResponse:
    """Show what matters of one frag in a rack, and what can be done with it."""
    return frag_page(request, rack_by_code(read_code(rack_code)), frag_code)


def frag_page(
    request: HttpRequest, rack: Rack, frag_code: str, *, error: str = "", status: int = 200
) -> HttpResponse:
    """Show a frag's sheet, perhaps with what went wrong."""
    piece = piece_by_code(read_code(frag_code))
    found = piece.frag
    seen_on = watched(found).seen_on
    shown = {
        "rack": rack,
        "frag": found,
        "piece": piece,
        "where": f"{found.rack.name}, {say_hole(piece.hole)}" if found.rack else "No place known",
        "due": [say_due(due, count=1)[2:].capitalize() for due in piece.due if due != Due.LIKELY],
        "seen": say_seen((today() - seen_on).days if seen_on else None),
        "wrong": say_trouble(found.wrong),
        "troubles": TROUBLES.items(),
        "sizes": [(key, "Mini" if key == "mini" else word) for key, word in SIZES.items()],
        "back": address_path(rack.code_id),
        "error": error,
    }
    return render(request, "front/rack_frag.html", shown, status=status)


def wrong(request: HttpRequest, rack_code: str, frag_code: str) -> HttpResponse:
    """Note what is wrong with a frag, perhaps with a picture, and go back to its rack."""
    rack = rack_by_code(read_code(rack_code))
    form = TroubleForm(request.POST, request.FILES)
    found = piece_by_code(read_code(frag_code)).frag

    def do() -> str:
        note_trouble(found, by=person_of(request), **form.values())
        return address_path(rack.code_id)

    done = submit(request, form, do)
    if done is None:
        said = " ".join(str(one) for errors in form.errors.values() for one in errors)
        return frag_page(request, rack, frag_code, error=said, status=form_status(form))
    words = TROUBLES[form.cleaned_data["wrong"]]
    messages.success(request, f"{show_code(found.code_id)}: {words}. It is written down.")
    return done


def fine(request: HttpRequest, rack_code: str, frag_code: str) -> HttpResponse:
    """Note that a frag with which something was wrong is fine, and go back to its rack."""
    rack = rack_by_code(read_code(rack_code))
    found = piece_by_code(read_code(frag_code)).frag

    def do() -> str:
        mark_seen([found.pk], by=person_of(request))
        return address_path(rack.code_id)

    done = write_once(request, do)
    messages.success(request, f"{show_code(found.code_id)} is fine again.")
    return done


def seen(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Note that all else in a rack is fine, and go on with the round."""
    rack = rack_by_code(read_code(rack_code))
    onwards = f"{reverse('front:rounds')}#rack-{rack.pk}"

    def do() -> str:
        see_rack(rack.pk, by=person_of(request))
        return way_back(request.POST.get("back", ""), default=onwards)

    done = write_once(request, do)
    messages.success(request, f"{rack}: seen, fine.")
    return done


def hole(request: HttpRequest, rack_code: str, row: int, column: int) -> HttpResponse:
    """Offer to put something into an empty hole; one that was filled leads to what is there.

    Raises: InputError for a hole outside the grid.
    """
    rack = rack_by_code(read_code(rack_code))
    check_hole(rack, row=row, column=column, frags=1)
    there = in_hole(rack, hole=(row, column)).first()
    if there is not None:
        return frag_page(request, rack, there.code_id)
    shown = {
        "rack": rack,
        "page": drawn_rack(rack),
        "row": row,
        "column": column,
        "where": say_hole((row, column)),
    }
    return render(request, "front/rack_hole.html", shown)


def more(request: HttpRequest, rack_code: str) -> HttpResponse:
    """Offer what is done with a rack as a whole, and seldom."""
    rack = rack_by_code(read_code(rack_code))
    return render(request, "front/rack_more.html", {"rack": rack})
