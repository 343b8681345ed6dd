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
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.drawn import Pairs, read_points
from fraginv.growth.rules.heights import usual_height
from fraginv.growth.views.drawing import as_json, box_around, scale_of
from fraginv.growth.views.measuring import measured_path

# How wide the picture is shown on which one taps, in pixels of the screen: a phone's width.
WIDE: Final = 340
# So many times closer is what was tapped on first, where the frag may be small in the picture.
CLOSER: Final = 4
NEAR: Final = "Tap the frag, to come closer."
NEAR_BOTH: Final = "Tap between the frag and something whose length you know, to come closer."
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
    def wide(self) -> int:
        """Return how wide the part is shown, in pixels of the screen."""
        return WIDE

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


def tap_in(asked: QueryDict, pane: Pane) -> Pairs:
    """Return the point of the picture that has just been tapped, if one was."""
    x, y = asked.get("at.x", ""), asked.get("at.y", "")
    if all(side.isascii() and side.isdigit() for side in (x, y)):
        return (pane.point(int(x[:5]), int(y[:5])),)
    return ()


@dataclass(frozen=True)
class Tapped:
    """What was tapped: around which point one looks closer, if at any, and the ends so far."""

    pane: Pane
    near: Pairs
    ends: Pairs
    steps: tuple[str, ...]

    @property
    def step(self) -> str:
        """Say what is to be tapped next; nothing where all is."""
        rest = self.steps[len(self.near) + len(self.ends) :]
        return rest[0] if rest else ""


def tapped(asked: QueryDict, *, subject: Subject, seen: Seen) -> Tapped:
    """Return the taps so far, with the one that has just been made.

    The card's window is close enough; elsewhere the first tap brings one closer.
    Raises: InputError for what are none.
    """
    whole, ends = pane_of(subject, seen), HERE if seen.view else KNOWN
    taps = read_points(asked.get("taps", ""), most=len(ends))
    if seen.view and seen.view.scale == Scale.CARD:
        made = (*taps, *tap_in(asked, whole))[: len(ends)]
        return Tapped(whole, (), made, ends)
    steps = (NEAR if seen.view else NEAR_BOTH, *ends)
    near = read_points(asked.get("near", ""), most=1)
    if not near:
        near = tap_in(asked, whole)
        return Tapped(closer(whole, near), near, taps, steps)
    pane = closer(whole, near)
    return Tapped(pane, near, (*taps, *tap_in(asked, pane))[: len(ends)], steps)


def closer(whole: Pane, near: Pairs) -> Pane:
    """Return the part around the point that was tapped; the whole where none was."""
    if not near:
        return whole
    wide, high = max(1, whole.width // CLOSER), max(1, whole.height // CLOSER)
    left = min(max(round(near[0][0]) - wide // 2, whole.left), whole.left + whole.width - wide)
    top = min(max(round(near[0][1]) - high // 2, whole.top), whole.top + whole.height - high)
    return Pane(left, top, wide, high)


def width(request: HttpRequest, photo_id: int, mark: str) -> HttpResponse:
    """Ask for two taps and a height, and store the width between them."""
    subject = subject_of(photo_id, mark=mark)
    seen, kept = seen_in(subject), present_measurement(subject.photo)
    asked = request.POST if request.method == "POST" else request.GET
    made = tapped(asked, subject=subject, seen=seen)
    usual = {
        "height_mm": usual_height(subject.medium, scale=scale_of(seen)),
        "taps": as_json(made.ends),
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
        "pane": made.pane,
        "taps": as_json(made.ends),
        "near": as_json(made.near) if made.near else "",
        "marks": made.pane.marks(made.ends),
        "step": made.step,
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
