"""How high a frag's widest contour usually stands above the card or label it is measured by.

All heights are common practice, no source; they are only where a person begins, who sees
the number and changes it in one tap.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from fraginv.base.errors import InputError
from fraginv.growth.rules.camera import Scale

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
    face = FACES[scale].get(medium, FACES[scale]["plug"])
    return [Offered(face + above, words) for words, above in FORMS.values()]


def usual_height(medium: str, *, scale: Scale) -> float:
    """Return the height in mm with which a person begins."""
    face = FACES[scale].get(medium, FACES[scale]["plug"])
    return face + FORMS[USUAL][1]


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
