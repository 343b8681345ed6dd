"""What can be wrong with a photograph and with what is measured in it: what, why, what to do.

``code`` is for programs and stays as it is; ``text`` is for people. What ``stops`` leaves
nothing to measure; the rest is said beside a measure, whose uncertainty has it already.
"""

from dataclasses import dataclass
from typing import Final

LARGEST_TILT_DEG: Final = 30.0
LEAST_PX_PER_MODULE: Final = 2.5
LARGEST_BLUR_MODULES: Final = 0.5
FEWEST_MARKERS: Final = 3
LARGEST_SCALE_GAP: Final = 0.015
LARGEST_GLARE: Final = 0.05


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, as a short code and in words."""

    code: str
    text: str
    stops: bool = False

    def as_dict(self) -> dict[str, str]:
        """Return code and text, for JSON."""
        return {"code": self.code, "text": self.text}


NO_SCALE: Final = Problem(
    "no-scale",
    "Neither the measuring card nor a label can be seen whole, so nothing tells how large a"
    " pixel is. Lay the card or the frag's label flat beside the frag and take the photo again,"
    " or set two points and type the length between them.",
    stops=True,
)
CARD_CUT_OFF: Final = Problem(
    "few-markers",
    f"Fewer than {FEWEST_MARKERS} of the card's black squares can be read, so the card cannot"
    " be measured by. It may lie half outside the picture, under something, or in glare. Take the"
    " photo again with the whole card in it and no lamp mirrored on it.",
    stops=True,
)
FEW_MARKERS_LEFT: Final = Problem(
    "markers-hidden",
    "Several of the card's black squares are hidden, in glare or outside the picture. The size"
    " is less certain; keep the whole card in sight for a better one.",
)
LABEL_LOST: Final = Problem(
    "label-unclear",
    "The label can be read but its edges are too unclear to measure by. Wipe it, hold the phone"
    " still and come closer, or lay the measuring card beside the frag.",
    stops=True,
)
LABEL_SIZES_DIFFER: Final = Problem(
    "label-sizes-differ",
    "This label was printed at more than one size. It was measured by the last one; where an"
    " older label is still on the piece, the size is wrong. Use the measuring card, or take the"
    " older label off.",
)
LABEL_SIZE_UNKNOWN: Final = Problem(
    "label-size-unknown",
    "Nobody knows at what size this label was printed, so it cannot be measured by. Give the"
    " symbol's width in millimetres, print the label anew, or use the measuring card.",
    stops=True,
)
HEIGHT_MISSING: Final = Problem(
    "height-missing",
    "The height at which the frag is widest is missing. What stands closer to the camera looks"
    " larger, easily by 12 % in area, so the size is marked as uncorrected. Give the height above"
    " the card or label.",
)
THROUGH_WATER: Final = Problem(
    "through-water",
    "The photo was taken through the water's surface. Heights are divided by 1.33, which holds"
    " for a still surface seen from straight above; ripples and slant add errors that nobody"
    " knows. Measure out of the water, or with a viewing box, where it matters.",
)
FOCAL_SUPPOSED: Final = Problem(
    "focal-supposed",
    "The photo does not say how wide its lens looks (a screenshot, a picture sent by a messenger,"
    " or one that was edited). A usual phone is supposed, so the size is less certain. Use the"
    " photo as it left the camera.",
)
FOCAL_ALTERED: Final = Problem(
    "focal-altered",
    "The photo was zoomed by numbers or cut afterwards, so its lens is not what it says and the"
    " size is less certain. Step closer instead of zooming, and use the photo uncut.",
)
OUTLINE_CROSSES: Final = Problem(
    "outline-crosses",
    "The outline crosses itself, so it has no area. Move or remove the point where it crosses.",
    stops=True,
)
OUTLINE_EMPTY: Final = Problem(
    "outline-empty",
    "The outline encloses nothing. It needs at least three points around the frag.",
    stops=True,
)
OUTLINE_AT_EDGE: Final = Problem(
    "outline-at-edge",
    "The outline touches the edge of the picture, so a part of the frag may be missing. Take"
    " the photo again with the whole frag in it.",
)
OUTLINE_IS_PLUG: Final = Problem(
    "outline-is-plug",
    "The outline is as large as the plug. Check that it follows the living tissue and not the"
    " plug's rim.",
)
OUTLINE_BEYOND: Final = Problem(
    "outline-beyond",
    "The outline reaches where the camera cannot see at this height. Check the outline and the"
    " height.",
    stops=True,
)
NOTHING_FOUND: Final = Problem(
    "nothing-found",
    "No coral could be told from what is around it. Tap the middle of the coral, or set points"
    " around it yourself.",
)
THAT_IS_LABEL: Final = Problem(
    "that-is-label",
    "That is the label. Tap the coral, or set points around it yourself.",
    stops=True,
)
THAT_IS_CARD: Final = Problem(
    "that-is-card",
    "That is the measuring card. Tap the coral, or set points around it yourself.",
    stops=True,
)
TOO_HIGH: Final = Problem(
    "too-high",
    "The height is more than the camera's distance. Give the height of the frag's widest part"
    " above the card or label in millimetres.",
    stops=True,
)


def tilted(tilt_deg: float) -> Problem:
    """Say that the phone was held too slant."""
    return Problem(
        "tilted",
        f"The phone was tilted by {tilt_deg:.0f}°. Beyond {LARGEST_TILT_DEG:.0f}° one sees a"
        " frag's side instead of its top, and small errors grow. Hold the phone level above it.",
    )


def too_small(px_per_module: float) -> Problem:
    """Say that the label has too few pixels to be measured by."""
    return Problem(
        "too-small",
        f"The label is too small in the picture ({px_per_module:.1f} pixels for each of its"
        f" cells, {LEAST_PX_PER_MODULE} are needed). Move closer or use a higher resolution.",
        stops=True,
    )


def card_too_small(px_per_cell: float) -> Problem:
    """Say that the card has too few pixels to be measured by."""
    return Problem(
        "card-too-small",
        f"The measuring card is too small in the picture ({px_per_cell:.1f} pixels for each cell"
        f" of its black squares, {LEAST_PX_PER_MODULE} are needed). Move closer.",
        stops=True,
    )


def blurred(blur_px: float) -> Problem:
    """Say that edges are too soft."""
    return Problem(
        "blurred",
        f"The picture is blurred: edges are spread over {4 * blur_px:.0f} pixels. Hold the phone"
        " still, tap the frag to focus, and give it more light.",
    )


def scales_differ(share: float) -> Problem:
    """Say that card and label tell different scales.

    Args: how much longer a millimetre is by the label than by the card, as a fraction.
    """
    return Problem(
        "scales-differ",
        f"By the label a length is {100 * abs(share):.1f} % {'more' if share > 0 else 'less'}"
        " than by the card. The label may be bent, lifted off the card's plane, or printed at"
        " another size; or the card was printed “to fit”. Lay the label flat on the card, and"
        " measure the bar on the card and a label with a ruler. The card was believed.",
    )


def does_not_fit(residual_px: float, *, what: str) -> Problem:
    """Say that card or label is not as flat as it was printed.

    Args: how far its edges lie from where they should, in pixels; "card" or "label".
    """
    return Problem(
        "does-not-fit",
        f"The {what} does not fit what was printed: its edges stray by {residual_px:.1f} pixels."
        " It may be bent, wrinkled or partly covered. Press it flat and take the photo again.",
    )


def glare(share: float) -> Problem:
    """Say that lamps are mirrored on the frag."""
    return Problem(
        "glare",
        f"{100 * share:.0f} % of the outline is white with glare, where its edge cannot be seen."
        " Turn off the lamp above, or shade the frag, and check the outline there.",
    )
