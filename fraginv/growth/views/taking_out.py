"""The page on which a photo is taken out of where it was filed by mistake."""

from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.rules.codes import address_path
from fraginv.base.web import form_status, person_of, submit, tell
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.models import Photo
from fraginv.growth.queries.measuring import present_measurement
from fraginv.growth.queries.photos import described_subject, get_photo_for


def out(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Ask whether a photo shows something else, and take it out."""
    person = person_of(request)
    photo = get_photo_for(person, photo_id=photo_id, mark=mark)
    form = Form(request.POST or None)

    def do() -> str:
        take_out(photo.pk, by=person)
        return page_of(photo)

    done = submit(request, form, do)
    if done is not None:
        where = "It lies in the tray now." if photo.part_of_id is None else ""
        tell(request, ["The photo is taken out.", where])
        return done
    context = {
        "photo": photo,
        "form": form,
        "subject": described_subject(photo),
        "measured": present_measurement(photo),
        "back": page_of(photo),
    }
    return render(request, "growth/photo_out.html", context, status=form_status(form))


def page_of(photo: Photo) -> str:
    """Return the page of what a photo shows."""
    shown = photo.frag or photo.colony or photo.rack
    return address_path(shown.code_id) if shown else "/"
