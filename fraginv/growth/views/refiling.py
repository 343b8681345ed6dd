"""The page that says that a photo's label reads another code, and files it there in one tap."""

from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import read_code
from fraginv.base.web import form_status, person_of, submit, tell
from fraginv.growth.actions.refiling import file_elsewhere
from fraginv.growth.queries.intake import photographed
from fraginv.growth.queries.photos import get_photo_for
from fraginv.growth.views.photos import page_with
from fraginv.growth.views.taking_out import page_of


def reads(request: HttpRequest, photo_id: int, mark: str, code: str) -> HttpResponse:
    """Ask whether a photo belongs where its label says, and file it there."""
    person = person_of(request)
    photo = get_photo_for(person, photo_id=photo_id, mark=mark)
    subject = photographed(read_code(code))
    form = Form(request.POST or None)

    def do() -> str:
        return page_with(file_elsewhere(photo.pk, subject=subject, by=person))

    done = submit(request, form, do)
    if done is not None:
        tell(request, ["The picture is filed here now, and no longer where it was sent."])
        return done
    shown = photo.frag or photo.colony or photo.rack
    context = {
        "photo": photo,
        "form": form,
        "subject": subject,
        "shown": shown,
        "back": page_of(photo),
        "keep": page_with(photo),
    }
    return render(request, "growth/photo_reads.html", context, status=form_status(form))
