"""How high a frag's widest contour usually stands above the card or label it is measured by.

All heights are common practice, no source; they are only where a person begins, who sees
the number and changes it in one tap.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fraginv.base.errors import InputError
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.measuring import SIGMA_HEIGHT_MM, Height

LEAST_MM: Final = 0.0
MOST_MM: Final = 150.0
STEP_MM: Final = 1.0

# The upper face of a plug, disc or tile above the printed surface. Beside the card a plug
# stands on its stem on the same table; beside a label it hangs in the rack by its head, the
# label flat on the rack.
FACES: Final[Mapping[Scale, Mapping[str, float]]] = {
    Scale.CARD: {"plug": 10.0, "disc": 5.0, "tile": 6.0},
    Scale.LABEL: {"plug": 4.0, "disc": 5.0, "tile": 6.0},
    Scale.HAND: {"plug": 0.0, "disc": 0.0, "tile": 0.0},
}
# How far above that face a frag is widest, by how it grows.
FORMS: Final[Mapping[str, tuple[str, float]]] = {
    "flat": ("Flat on it", 2.0),
    "usual": ("Usual", 5.0),
    "tall": ("Tall", 12.0),
}
USUAL: Final = "usual"
# One of three heights for all plugs and frags is no closer than this, a standard deviation.
SIGMA_OFFERED_MM: Final = 3.0


@dataclass(frozen=True, slots=True)
class Offered:
    """A height in mm that is offered, with the words on its button."""

    mm: float
    words: str


def heights_for(medium: str, *, scale: Scale) -> list[Offered]:
    """Return the heights that are offered in one tap, from flat to tall.

    Args: ``medium`` as stock names it; what the photo is measured by. A scale set by hand is
        thought to be at the foot of the frag itself.
    """
    face = face_of(medium, scale=scale)
    return [Offered(face + above, words) for words, above in FORMS.values()]


def usual_height(medium: str, *, scale: Scale) -> float:
    """Return the height in mm with which a person begins."""
    return face_of(medium, scale=scale) + FORMS[USUAL][1]


def face_of(medium: str, *, scale: Scale) -> float:
    """Return how high the upper face of what frags stand on lies, in mm."""
    return FACES[scale].get(medium, FACES[scale]["plug"])


def height_from(
    height_mm: float | None, *, medium: str, scale: Scale, through_water: bool = False
) -> Height:
    """Return a height with how far it is to be believed: less where it is one that is offered."""
    offered = [one.mm for one in heights_for(medium, scale=scale)]
    sigma = SIGMA_OFFERED_MM if height_mm in offered else SIGMA_HEIGHT_MM
    return Height(height_mm, sigma, through_water)


def check_height(height_mm: float) -> float:
    """Return a height that can be, in mm.

    Raises: InputError for one that cannot.
    """
    if not LEAST_MM <= height_mm <= MOST_MM:
        raise InputError(
            f"A height of {height_mm:g} mm cannot be: give that of the frag's widest part above"
            f" the card or label, {LEAST_MM:g} to {MOST_MM:g} mm."
        )
    return height_mm
