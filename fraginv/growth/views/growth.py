"""How a frag grew, and its photos in one scale."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.rules.roles import Right
from fraginv.base.web import person_of
from fraginv.growth.queries.growth import growth_page
from fraginv.growth.queries.photos import latest_photos_of
from fraginv.growth.queries.pictured import picture_from_above
from fraginv.growth.views.photos import YEAR
from fraginv.stock.queries.frags import frag_by_code


def growth(request: HttpRequest, code: str) -> HttpResponse:
    """Show a frag's sizes over time, and when it will be ready."""
    frag = frag_by_code(read_code(code))
    page = growth_page(frag, today=today())
    may_measure = not page.rows and person_of(request).can(Right.FILE_PHOTO)
    shown = {
        "page": page,
        "frag": frag,
        "back": address_path(frag.code_id),
        "to_measure": latest_photos_of(frag)[:1] if may_measure else (),
    }
    return render(request, "growth/frag_growth.html", shown)


def from_above(request: HttpRequest, outline_id: int, side_mm: int) -> HttpResponse:
    """Answer with what a measured photo shows as seen from straight above; it never changes."""
    data = picture_from_above(outline_id, side_mm=side_mm)
    response = HttpResponse(data, content_type="image/jpeg")
    response["Cache-Control"] = f"private, max-age={YEAR}, immutable"
    return response
