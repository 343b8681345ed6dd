"""Pages with photos."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.files import read_rendition
from fraginv.base.rules.codes import address_path, read_code
from fraginv.base.throttle import throttled
from fraginv.base.web import form_status, person_of, submit, tell
from fraginv.growth.actions.photos import file_unpacked
from fraginv.growth.forms.photos import PhotoForm
from fraginv.growth.queries.photos import (
    get_photo_for,
    is_for_visitors,
    photo_subject,
    photos_of,
)
from fraginv.growth.queries.tray import get_incoming
from fraginv.growth.rules.moments import doubts_of

YEAR = 365 * 24 * 60 * 60
HOUR = 60 * 60


def add_photo(request: HttpRequest, code: str) -> HttpResponse:
    """Take a picture of the frag or colony with a code, and go back to its page."""
    subject = photo_subject(read_code(code))
    form = PhotoForm(request.POST or None, request.FILES or None)

    def do() -> str:
        filed = file_unpacked(subject, by=person_of(request), **form.cleaned_data)
        # A frag's page offers to measure what has just been filed.
        offer = f"?filed={filed.pk}" if filed.frag_id else ""
        return address_path(subject.code_id) + offer

    context = {
        "subject": subject,
        "form": form,
        "photos": photos_of(subject),
        "back": address_path(subject.code_id),
    }
    done = submit(request, form, do)
    if done is not None:
        facts = form.cleaned_data["picture"].prepared.facts
        doubts = doubts_of(facts.taken_at, optics=facts.optics, now=clock.now())
        tell(request, ["The picture is filed.", *(doubt.text for doubt in doubts)])
        return done
    return render(request, "growth/photo_form.html", context, status=form_status(form))


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
