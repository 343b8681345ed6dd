"""Pages of the availability sheet."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.queries.organisation import today
from fraginv.base.web import pdf_response
from fraginv.sheets.forms import ReaderForm
from fraginv.sheets.queries.availability import availability, get_reader, mark_of
from fraginv.sheets.queries.papers import sheet_paper
from fraginv.sheets.rules import shelves


def sheet(request: HttpRequest) -> HttpResponse:
    """Show what can be had now, at the prices of a kind of customer or of one customer."""
    reader = get_reader(request.GET.get("reader", ""))
    found = availability(reader, day=today())
    groups = [
        (shelf.title, [(line, found.photo_of(line)) for line in shelf_lines])
        for shelf in shelves(found.lines)
        for shelf_lines in [[*sum(shelf.varieties, ()), *shelf.pictured]]
    ]
    context = {
        "found": found,
        "groups": groups,
        "mark": mark_of(reader),
        "form": ReaderForm(initial={"reader": mark_of(reader)}),
    }
    return render(request, "sheets/sheet_list.html", context)


def pdf(request: HttpRequest) -> HttpResponse:
    """Answer with the sheet as a PDF."""
    found = availability(get_reader(request.GET.get("reader", "")), day=today())
    return pdf_response(sheet_paper(found), name=f"sheet-{found.as_of}.pdf")
