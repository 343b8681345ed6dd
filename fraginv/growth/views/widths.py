"""A frag's width between two taps, for those without scripts or time."""

from dataclasses import dataclass
from typing import Final

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import address_path
from fraginv.base.web import form_status, person_of, sent, submit
from fraginv.growth.actions.measuring import save_measurement
from fraginv.growth.forms.measuring import WidthForm
from fraginv.growth.queries.measuring import present_measurement, sized
from fraginv.growth.queries.sights import Seen, Subject, seen_in, subject_of
from fraginv.growth.rules.drawn import Pairs, read_points
from fraginv.growth.rules.heights import usual_height
from fraginv.growth.views.drawing import as_json, box_around, scale_of
from fraginv.growth.views.measuring import measured_path

# How wide the picture is shown on which one taps, in pixels of the screen.
WIDE: Final = 600
HERE: Final = ("Tap one end of the frag.", "Tap its other end.")
KNOWN: Final = (
    "Tap one end of something whose length you know.",
    "Tap its other end.",
    *HERE,
)


@dataclass(frozen=True)
class Pane:
    """The part of the picture that is shown, and how large a pixel of it is on the screen."""

    left: int
    top: int
    width: int
    height: int

    @property
    def zoom(self) -> float:
        """Return how many pixels of the screen one of the picture covers."""
        return WIDE / self.width

    @property
    def high(self) -> int:
        """Return how high the part is shown, in pixels of the screen."""
        return round(self.height * self.zoom)

    def point(self, x: int, y: int) -> tuple[float, float]:
        """Return which point of the picture was tapped."""
        ends = (x + 0.5) / self.zoom - 0.5 + self.left, (y + 0.5) / self.zoom - 0.5 + self.top
        return round(ends[0], 2), round(ends[1], 2)

    def marks(self, taps: Pairs) -> list[tuple[float, float]]:
        """Return where taps are shown, in pixels of the screen."""
        return [
            ((x + 0.5 - self.left) * self.zoom, (y + 0.5 - self.top) * self.zoom) for x, y in taps
        ]


def pane_of(subject: Subject, seen: Seen) -> Pane:
    """Return the part of the picture on which one taps: where the frag stands."""
    left, top, right, bottom = (round(edge) for edge in box_around(subject, seen))
    return Pane(left, top, max(1, right - left), max(1, bottom - top))


def taps_in(asked: QueryDict, pane: Pane, *, most: int) -> Pairs:
    """Return the taps so far, with the one that has just been made.

    Raises: InputError for what are none.
    """
    taps = read_points(asked.get("taps", ""), most=most)
    x, y = asked.get("at.x", ""), asked.get("at.y", "")
    if len(taps) < most and all(side.isascii() and side.isdigit() for side in (x, y)):
        taps = (*taps, pane.point(int(x[:5]), int(y[:5])))
    return taps


def width(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Ask for two taps and a height, and store the width between them."""
    subject = subject_of(photo_id, mark=mark)
    seen, kept = seen_in(subject), present_measurement(subject.photo)
    pane, steps = pane_of(subject, seen), HERE if seen.view else KNOWN
    asked = request.POST if request.method == "POST" else request.GET
    taps = taps_in(asked, pane, most=len(steps))
    medium = subject.frag.new_medium or subject.frag.medium
    usual = {
        "height_mm": usual_height(medium, scale=scale_of(seen)),
        "taps": as_json(taps),
        "present": kept.pk if kept else None,
    }
    form = WidthForm(sent(request), initial=usual, by_hand=seen.view is None)
    done = submit(request, form, lambda: store(request, subject, form))
    if done is not None:
        return done
    shown = {
        "photo": subject.photo,
        "frag": subject.frag,
        "form": form,
        "pane": pane,
        "taps": as_json(taps),
        "marks": pane.marks(taps),
        "step": steps[len(taps)] if len(taps) < len(steps) else "",
        "steps": len(steps),
        "by_hand": not seen.view,
        "problems": seen.problems,
        "here": reverse("growth:measure_width", args=[photo_id, mark]),
        "back": address_path(subject.frag.code_id),
    }
    return render(request, "growth/measure_width.html", shown, status=form_status(form))


def store(request: HttpRequest, subject: Subject, form: WidthForm) -> str:
    """Store the width between two taps; return where it is said."""
    if len(form.cleaned_data["taps"]) < len(HERE):
        raise InputError("A width lies between two points. Tap both ends of the frag.")
    found = sized(subject, drawn=form.drawn())
    measurement = save_measurement(
        subject.photo,
        sized=found,
        by=person_of(request),
        instead_of=form.cleaned_data["present"],
    )
    return measured_path(measurement)
