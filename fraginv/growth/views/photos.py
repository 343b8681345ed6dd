"""Pages with photos."""

from collections.abc import Sequence

from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.files import read_rendition
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.rules.pictures import MAX_BYTES
from fraginv.base.throttle import throttled
from fraginv.base.web import form_status, person_of, submit, tell, wants_json
from fraginv.growth.actions.photos import file_unpacked
from fraginv.growth.forms.photos import ReadPhotoForm
from fraginv.growth.models import Photo
from fraginv.growth.queries.intake import others_read
from fraginv.growth.queries.photos import (
    get_photo_for,
    is_filed_under,
    is_for_visitors,
    photo_subject,
    photos_by_pages,
)
from fraginv.growth.queries.tray import get_incoming
from fraginv.growth.rules.intake import Named
from fraginv.growth.rules.moments import doubts_of
from fraginv.growth.rules.others import reads_others

YEAR = 365 * 24 * 60 * 60
HOUR = 60 * 60


def add_photo(request: HttpRequest, code: str) -> HttpResponse:
    """Take a picture of the frag or colony with a code, and go back to its page."""
    subject = photo_subject(read_code(code))
    form = ReadPhotoForm(request.POST or None, request.FILES or None)
    others: list[Named] = []
    said = ["The picture is filed."]
    if form.is_valid():
        others = others_read(form.read.labels, subject=subject)
        if is_filed_under(subject, sha256=form.cleaned_data["picture"].sha256):
            said = ["This picture was filed here before, so nothing was filed twice."]

    def do() -> str:
        return page_after(
            file_unpacked(subject, by=person_of(request), **form.cleaned_data), others=others
        )

    context = {
        "subject": subject,
        "form": form,
        "page": photos_by_pages(subject),
        "back": address_path(subject.code_id),
        "most_bytes": MAX_BYTES,
    }
    done = submit(request, form, do)
    if done is not None:
        facts = form.cleaned_data["picture"].prepared.facts
        doubts = doubts_of(facts.taken_at, optics=facts.optics, now=clock.now())
        if others and not leads_on(others):
            said.append(reads_others(others, code=subject.code_id))
        tell(request, [*said, *(doubt.text for doubt in doubts)])
        return told_to_script(done) if wants_json(request) else done
    if wants_json(request):
        return JsonResponse({"code": "input", "message": first_error(form)}, status=400)
    return render(request, "growth/photo_form.html", context, status=form_status(form))


def told_to_script(done: HttpResponse) -> HttpResponse:
    """Return what a script is told that filed a picture: where to go on."""
    return JsonResponse({"ok": True, "url": done["Location"]})


def first_error(form: BaseForm) -> str:
    """Return the first thing that is wrong with a form."""
    words = [str(one) for errors in form.errors.values() for one in errors]
    return words[0] if words else "Choose a picture."


def page_after(filed: Photo, *, others: Sequence[Named]) -> str:
    """Return where to go on once a photo is filed, by what its labels name instead.

    One other thing: the page that files it there. What is not so plain: the page that takes
    it out.
    """
    if leads_on(others):
        return reverse("growth:reads", args=[filed.pk, filed.mark, others[0].code])
    if others:
        return reverse("growth:take_out", args=[filed.pk, filed.mark])
    return page_with(filed)


def leads_on(others: Sequence[Named]) -> bool:
    """Tell whether labels name one other thing, whose page says so and files the photo there."""
    return len(others) == 1 and others[0].is_thing


def page_with(filed: Photo) -> str:
    """Return the page of what a photo shows; a frag's offers to measure what was just filed."""
    shown = filed.frag or filed.colony or filed.rack
    page = address_path(shown.code_id) if shown else "/"
    return f"{page}?filed={filed.pk}" if filed.frag_id else page


@throttled(hit=0)  # the page that shows it was paid for; its address cannot be guessed
def photo(request: HttpRequest, photo_id: int, mark: str, size: int) -> HttpResponse:
    """Answer with a picture; its address never stands for another one."""
    person = request.user if isinstance(request.user, Person) else None
    found = get_photo_for(person, photo_id=photo_id, mark=mark)
    response = HttpResponse(read_rendition(found.file, size=size), content_type="image/jpeg")
    # What many share, such as a proxy's cache, asks again after an hour: the piece may
    # have been set apart since, and its picture is then for the crew alone.
    reach = f"public, s-maxage={HOUR}" if is_for_visitors(found) else "private"
    response["Cache-Control"] = f"{reach}, max-age={YEAR}, immutable"
    return response


def incoming(request: HttpRequest, incoming_id: int, seal: str, size: int) -> HttpResponse:
    """Answer with a picture that came in, filed or not; for whoever may file it.

    Raises: NotFound.
    """
    found = get_incoming(incoming_id)
    if found.file is None or found.file.private or found.file.sha256[:16] != seal:
        raise NotFound("There is no such picture. Open the page again that led here.")
    response = HttpResponse(read_rendition(found.file, size=size), content_type="image/jpeg")
    response["Cache-Control"] = f"private, max-age={YEAR}, immutable"
    return response
