"""Pictures coming in: many at once, and what becomes of each."""

import uuid
from collections.abc import Callable
from typing import Any, Final

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import read_code
from fraginv.base.rules.pictures import MAX_BYTES
from fraginv.base.web import (
    after_asked,
    form_status,
    person_of,
    submit,
    wants_json,
    write_once,
)
from fraginv.front.forms.pictures import SendForm
from fraginv.growth.actions.intake import keep_incoming, open_batch
from fraginv.growth.models import Incoming
from fraginv.growth.queries.intake import get_batch
from fraginv.growth.queries.tray import (
    count_in_tray,
    get_incoming,
    latest_batches,
    pictures_of,
    sums_of,
)
from fraginv.stock.models import Rack
from fraginv.stock.queries.places import rack_by_code

MOST_ID: Final = 18


def photos(request: HttpRequest) -> HttpResponse:
    """Offer to take or choose pictures, and tell what came in lately."""
    rack = rack_asked(request.GET.get("rack", ""))
    key = uuid.uuid4()
    form = SendForm(initial={"key": key, "rack": rack.code_id if rack else ""})
    return page(request, form, rack=rack, key=key)


def page(
    request: HttpRequest, form: SendForm, *, rack: Rack | None, key: uuid.UUID | None
) -> HttpResponse:
    """Show the page, perhaps with what was wrong.

    Args: ``key`` under which pictures come in from here, None where it was not sent.
    """
    came, sums = latest_batches(after=after_asked(request))
    told = {
        "form": form,
        "rack": rack,
        "page": came,
        "batches": [(batch, sums[batch.pk]) for batch in came.rows],
        "in_tray": count_in_tray(),
        "most_bytes": MAX_BYTES,
        "batch_url": reverse("front:photos_batch", args=[key]) if key else "",
    }
    return render(request, "front/photos.html", told, status=form_status(form))


def rack_asked(text: str) -> Rack | None:
    """Return the rack whose pictures are sent, or None.

    Raises: CodeError or NotFound for what is none.
    """
    return rack_by_code(read_code(text)) if text else None


def send(request: HttpRequest) -> HttpResponse:
    """Keep what was sent and go to the page that tells what becomes of it.

    A script sends one picture at a time and is told of that one.
    """
    form = SendForm(request.POST, request.FILES)
    valid = form.is_valid()
    rack = rack_asked(form.cleaned_data.get("rack", "")) if valid else None
    files = [(file.name or "", file.read()) for file in form.chosen()] if valid else []

    def do() -> str:
        asked, by = form.cleaned_data, person_of(request)
        batch = open_batch(asked["key"], by=by, rack=rack, scanned=asked["scanned"])
        rows = [keep_incoming(data, name=name, batch=batch) for name, data in files]
        return f"{reverse('front:photos_batch', args=[batch.key])}?sent={rows[-1].pk}"

    if wants_json(request):
        return sent_by_script(request, form, do=do)
    done = submit(request, form, do)
    key = form.cleaned_data.get("key")
    return page(request, form, rack=rack, key=key) if done is None else done


def sent_by_script(request: HttpRequest, form: SendForm, *, do: Callable[[], str]) -> HttpResponse:
    """Answer a script: what became of the picture it sent.

    Raises: InputError for what cannot be read.
    """
    if not form.is_valid():
        first, *_ = [str(words) for errors in form.errors.values() for words in errors]
        raise InputError(first)
    done = write_once(request, do)
    return JsonResponse(told_of(get_incoming(int(done["Location"].rpartition("=")[2]))))


def told_of(row: Incoming) -> dict[str, Any]:
    """Return what a script is told of a picture."""
    return {
        "ok": True,
        "id": row.pk,
        "name": row.name,
        "state": row.state,
        "said": row.said,
        "url": reverse("front:photos_batch", args=[row.batch.key]),
    }


def batch(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Tell what becomes of pictures that came in together, while it does."""
    found = get_batch(key)
    if wants_json(request):
        return JsonResponse(told_of(sent_asked(request)))
    came, rows = pictures_of(found, after=after_asked(request))
    told = {"batch": found, "page": came, "rows": rows, "sums": sums_of(found)}
    return render(request, "front/photos_batch.html", told)


def sent_asked(request: HttpRequest) -> Incoming:
    """Return the picture that a script asks for, having sent it before.

    Raises: InputError where it names none; NotFound.
    """
    text = request.GET.get("sent", "")
    if not (text.isascii() and text.isdigit()) or len(text) > MOST_ID:
        raise InputError("Say which picture was sent.")
    return get_incoming(int(text))
