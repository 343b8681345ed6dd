"""What the page that measures knows of a photo, as its scripts read it."""

import json
from typing import Any, Final

from django.urls import reverse

from fraginv.base.rules.pictures import SIZES
from fraginv.growth.models import Measurement
from fraginv.growth.queries.measuring import handles_kept
from fraginv.growth.queries.sights import Seen, Subject
from fraginv.growth.rules import heights, measuring, outlines, problems
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.heights import MOST_MM

WORDS: Final = {
    "no_scale": "Tap both ends of a known length and type it first.",
    "crosses": problems.OUTLINE_CROSSES.text,
    "unsized": (
        f"Give the height of the frag's widest part first, from 0 to {MOST_MM:.0f} mm; 0 is flat on"
        " the card or label."
    ),
    "choose": "Choose a point first.",
}
# In place of which numbers a script asks for a part of the picture.
PART: Final = (0, 0, 1, 1)


def scale_of(seen: Seen) -> Scale:
    """Return what a photo is measured by."""
    return seen.view.scale if seen.view else Scale.HAND


def facts_of(subject: Subject, seen: Seen, *, kept: Measurement | None) -> dict[str, Any]:
    """Return all that the scripts need, for JSON."""
    address = [subject.photo.pk, subject.photo.mark]
    return {
        "view": seen.view.as_dict() if seen.view else None,
        "problems": [problem.as_dict() for problem in seen.problems],
        "lens": lens_of(subject),
        "picture": picture_of(subject, seen),
        "sigmas": {
            "height": measuring.SIGMA_HEIGHT_MM,
            "offered": heights.SIGMA_OFFERED_MM,
            "offered_mm": [
                one.mm for one in heights.heights_for(subject.medium, scale=scale_of(seen))
            ],
            "water": measuring.SIGMA_WATER,
            "point": outlines.REVIEWED.point,
            "every": outlines.REVIEWED.every,
            "whole": outlines.REVIEWED.whole,
            "across": outlines.sigma_of_diameter(outlines.REVIEWED),
        },
        "kept": {
            "handles": handles_kept(kept),
            "heads": kept.heads_px if kept else [],
            "by": (kept.outline_by if kept else "") or "drawn",
        },
        "present": kept.pk if kept else "",
        "suggest_url": reverse("growth:suggest", args=address),
        "save_url": reverse("growth:measure", args=address),
        "words": WORDS,
    }


def lens_of(subject: Subject) -> dict[str, Any]:
    """Return size and focal length of the picture, all that a scale set by hand needs."""
    width, height = subject.size
    focal = subject.focal
    return {"width": width, "height": height, "focal": {"px": focal.px, "sigma": focal.sigma}}


def picture_of(subject: Subject, seen: Seen) -> dict[str, Any]:
    """Return which part of the upright picture the photo shows, and where to look first."""
    file, address = subject.photo.file, [subject.photo.pk, subject.photo.mark]
    width, height = file.width or 1, file.height or 1
    return {
        "left": subject.left,
        "top": subject.top,
        "width": width,
        "height": height,
        "scale": min(1.0, SIZES[0] / max(width, height)),
        "url": reverse("growth:photo", args=[*address, SIZES[0]]),
        "part_url": reverse("growth:part", args=[*address, *PART]),
        "focus": box_around(subject, seen),
    }


def box_around(subject: Subject, seen: Seen) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of where the frag stands, within what the photo shows."""
    left, top = subject.left, subject.top
    right, bottom = left + (subject.photo.file.width or 1), top + (subject.photo.file.height or 1)
    if not seen.around_px:
        return left, top, right, bottom
    xs, ys = zip(*seen.around_px, strict=True)
    box = max(left, min(xs)), max(top, min(ys)), min(right, max(xs)), min(bottom, max(ys))
    return box if box[0] < box[2] and box[1] < box[3] else (left, top, right, bottom)


def as_json(facts: Any) -> str:
    """Return what a script reads as one line of JSON."""
    return json.dumps(facts, separators=(",", ":"))
