"""All photos of a frag, a colony or a rack, by pages."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.web import after_asked
from fraginv.growth.queries.intake import photographed
from fraginv.growth.queries.photos import photos_by_pages
from fraginv.stock.models import Frag


def photos(request: HttpRequest, code: str) -> HttpResponse:
    """Show all that was photographed under a code, the latest first."""
    subject = photographed(read_code(code))
    page = photos_by_pages(subject, after=after_asked(request))
    shown = {
        "subject": subject,
        "page": page,
        "back": address_path(subject.code_id),
        "measurable": isinstance(subject, Frag),
    }
    return render(request, "growth/photo_list.html", shown)
