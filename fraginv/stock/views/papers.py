"""Colonies' papers: filing one, and reading it."""

from csp.decorators import csp_update
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.queries.files import read_original, read_rendition
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.rules.documents import PDF
from fraginv.base.rules.pictures import SIZES
from fraginv.base.web import form_status, person_of, submit
from fraginv.stock.actions.papers import file_paper
from fraginv.stock.forms.colonies import PaperForm
from fraginv.stock.queries.colonies import colony_by_code
from fraginv.stock.queries.papers import get_paper


def paper_add(request: HttpRequest, colony_code: str) -> HttpResponse:
    """File a paper of a colony, and go back to its page."""
    colony = colony_by_code(read_code(colony_code))
    form = PaperForm(request.POST or None, request.FILES or None)

    def do() -> str:
        paper = form.cleaned_data["paper"]
        paper.seek(0)  # a second try, after a busy database, reads it again
        title = form.cleaned_data["title"]
        file_paper(colony.pk, data=paper.read(), title=title, by=person_of(request))
        return address_path(colony.code_id)

    done = submit(request, form, do)
    if done is not None:
        messages.success(request, "The paper is filed.")
        return done
    page = {"form": form, "colony": colony}
    return render(request, "stock/paper_form.html", page, status=form_status(form))


@csp_update({"sandbox": True})  # type: ignore[arg-type] # its types know no further arguments
def paper(request: HttpRequest, paper_id: int) -> HttpResponse:
    """Answer with a paper: a PDF to be saved, or the picture of one, drawn anew.

    It came from elsewhere, so that it may do nothing in a reader inside the browser.
    """
    found = get_paper(paper_id)
    is_pdf = found.file.media_type == PDF
    data = read_original(found.file) if is_pdf else read_rendition(found.file, size=SIZES[0])
    response = HttpResponse(data, content_type=PDF if is_pdf else "image/jpeg")
    name = f"paper-{found.colony.code_id}-{found.pk}.{'pdf' if is_pdf else 'jpg'}"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-store"
    return response
