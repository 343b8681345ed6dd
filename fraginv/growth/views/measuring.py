"""Measuring a frag in one of its photos."""

from typing import TypeVar

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect, JsonResponse
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import FraginvError, InputError, NotFound
from fraginv.base.pixels import cut_out
from fraginv.base.queries.files import read_original
from fraginv.base.rules.codes import address_path
from fraginv.base.web import person_of, wants_json, write_once
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.forms.measuring import OutlineForm, ScaleForm, TapForm
from fraginv.growth.models import Measurement
from fraginv.growth.queries.measuring import (
    measurement_by_id,
    present_measurement,
    sized,
    sized_anew,
)
from fraginv.growth.queries.sights import Subject, seen_in, subject_of
from fraginv.growth.queries.suggested import suggestion
from fraginv.growth.rules.drawn import VERSION, said_of
from fraginv.growth.rules.heights import heights_for, usual_height
from fraginv.growth.views.drawing import as_json, facts_of, scale_of
from fraginv.growth.views.photos import YEAR

Form = TypeVar("Form", bound=ScaleForm)
MOST_PART_PIXELS = 4_000_000


def measure(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Show the page that measures, or store what was drawn on it."""
    subject = subject_of(photo_id, mark=mark)
    if request.method == "POST":
        return save(request, subject)
    seen, kept = seen_in(subject), present_measurement(subject.photo)
    medium, scale = subject.medium, scale_of(seen)
    form = ScaleForm(
        initial={
            "height_mm": kept.height_mm if kept else usual_height(medium, scale=scale),
            "through_water": kept.through_water if kept else False,
        }
    )
    shown = {
        "photo": subject.photo,
        "frag": subject.frag,
        "back": address_path(subject.frag.code_id),
        "scale": scale,
        "problems": seen.problems,
        "heights": heights_for(medium, scale=scale),
        "form": form,
        "kept": kept,
        "said": said_of(kept) if kept else "",
        "is_older": kept is not None and kept.version != VERSION,
        "facts": as_json(facts_of(subject, seen, kept=kept)),
    }
    return render(request, "growth/measure.html", shown)


def save(request: HttpRequest, subject: Subject) -> HttpResponse:
    """Store what was drawn; a script is told where to go on, or what is wrong."""
    try:
        form = checked(OutlineForm(request.POST))
        found = sized(subject, drawn=form.drawn())
        done = write_once(
            request,
            lambda: measured_path(
                save_measurement(
                    subject.photo,
                    sized=found,
                    by=person_of(request),
                    instead_of=form.cleaned_data["present"],
                )
            ),
        )
    except FraginvError as error:
        if not wants_json(request):
            raise
        told = {"code": error.code, "message": error.message, **error.data}
        return JsonResponse(told, status=error.status)
    return JsonResponse({"url": done["Location"]}) if wants_json(request) else done


def checked(form: Form) -> Form:
    """Return a form that is as it should be.

    Raises: InputError with the first thing that is not.
    """
    if form.is_valid():
        return form
    first, *_ = [str(words) for errors in form.errors.values() for words in errors]
    raise InputError(first)


def suggest(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Suggest an outline for what was tapped; nothing of it is kept."""
    subject = subject_of(photo_id, mark=mark)
    form = checked(TapForm(request.POST))
    tap = form.cleaned_data["x"], form.cleaned_data["y"]
    found = suggestion(subject, drawn=form.drawn(), tap_px=tap)
    said = [problem.as_dict() for problem in found.problems]
    return JsonResponse({"handles": found.handles_px, "problems": said})


def part(
    request: HttpRequest, photo_id: int, mark: str, left: int, top: int, width: int, height: int
) -> HttpResponse:
    """Answer with a part of the picture as it was taken, to be seen closely."""
    subject = subject_of(photo_id, mark=mark)
    if not 0 < width * height <= MOST_PART_PIXELS:
        raise InputError("This part is too large to be sent. Choose a smaller one.")
    box = (left, top, left + width, top + height)
    data = cut_out(read_original(subject.file), box=box)
    response = HttpResponse(data, content_type="image/jpeg")
    response["Cache-Control"] = f"private, max-age={YEAR}, immutable"
    return response


def redo(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Measure what was drawn before with the present method, from the stored photo."""
    subject = subject_of(photo_id, mark=mark)
    kept = present_measurement(subject.photo)
    if kept is None:
        raise NotFound("Nothing was measured in this photo yet. Measure it first.")
    found = sized_anew(subject, kept=kept)
    return write_once(
        request,
        lambda: measured_path(
            save_measurement(subject.photo, sized=found, by=person_of(request), instead_of=kept.pk)
        ),
    )


def measured_path(measurement: Measurement) -> str:
    """Return the address that says what came of a measurement."""
    return reverse("growth:measured", args=[measurement.pk])


def measured(request: HttpRequest, measurement_id: int) -> HttpResponse:
    """Say what was measured, on the frag's page."""
    found = measurement_by_id(measurement_id)
    if wants_json(request):
        return JsonResponse({"url": request.path})
    messages.success(request, f"Measured: {said_of(found)}.")
    return HttpResponseRedirect(address_path(found.frag.code_id))
