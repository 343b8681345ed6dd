"""What commands tell of a photo that was read, and outlines they are given."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import PurePath
from typing import Any, Final

from fraginv.base.errors import InputError
from fraginv.base.rules.codes import show_code
from fraginv.growth.rules.problems import Problem

GIVEN, SUGGESTED = "given", "suggested"
FEWEST: Final = 3
Outline = tuple[tuple[float, float], ...]

NO_LABEL: Final = Problem(
    "no-label",
    "No label can be read in the photo, so nothing says which frag it shows. Take it again"
    " closer, with the label wiped, sharp and whole in the picture.",
)
SEVERAL: Final = Problem(
    "several-labels",
    "The photo shows several labels, so one frag's size cannot be told from another's. Photograph"
    " the frag by itself with its own label, or give its outline.",
)
NOT_FOUND: Final = Problem(
    "frag-not-found",
    "The frag was not found beside its label or in the card's window, so no size is given. Measure"
    " it on its page, where you tap it, or give its outline.",
)


def unknown(code: str) -> Problem:
    """Say that a well-formed code is none of ours."""
    return Problem(
        "unknown-code",
        f"{show_code(code)} is a well-formed code, but none of ours. Look at the label again.",
    )


def twice(code: str) -> Problem:
    """Say that one code stands at two places."""
    return Problem(
        "code-twice",
        f"{show_code(code)} stands on two labels in the photo, so one of the pieces carries a"
        " wrong one. Look which it is, and print the other's label anew.",
    )


@dataclass(frozen=True, slots=True)
class Asked:
    """How photos are to be measured.

    ``height_mm`` is that of the frag's widest contour above card or label, None where its
    kind of plug shall tell; ``outlines`` are in pixels of the upright photo, by file name;
    ``symbol_mm`` the side of the symbols where it is not known here.
    """

    height_mm: float | None = None
    symbol_mm: float | None = None
    outlines: Mapping[str, Outline] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FragTold:
    """A frag that was measured in a photo; ``code`` is empty where no label says which."""

    code: str
    area_mm2: float
    diameter_mm: float
    sigma_area_mm2: float
    scale: str
    height_mm: float | None
    outline: Outline
    outline_by: str

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON shows it: lengths to a thousandth, pixels to a hundredth."""
        return {
            "code": self.code or None,
            "area_mm2": round(self.area_mm2, 3),
            "diameter_mm": round(self.diameter_mm, 3),
            "sigma_area_mm2": round(self.sigma_area_mm2, 3),
            "scale": self.scale,
            "height_mm": self.height_mm,
            "outline": [[round(x, 2), round(y, 2)] for x, y in self.outline],
            "outline_by": self.outline_by,
        }


@dataclass(frozen=True, slots=True)
class PhotoTold:
    """What was read in a photo: codes, sizes, and what is to be said of it."""

    file: str
    taken: datetime | None = None
    codes: Sequence[str] = ()
    frags: Sequence[FragTold] = ()
    problems: Sequence[Problem] = ()

    def as_dict(self) -> dict[str, Any]:
        """Return it as JSON shows it."""
        return {
            "file": self.file,
            "taken": self.taken.isoformat() if self.taken else None,
            "codes": list(self.codes),
            "frags": [frag.as_dict() for frag in self.frags],
            "problems": [problem.text for problem in self.problems],
        }


def read_outlines(text: str) -> dict[str, Outline]:
    """Read outlines from JSON: ``{"photo.jpg": [[x, y], …]}`` in pixels of the upright photo.

    Raises: InputError for anything else.
    """
    try:
        found = json.loads(text)
        outlines = {
            PurePath(name).name: tuple((float(x), float(y)) for x, y in points)
            for name, points in found.items()
        }
    except (ValueError, TypeError, AttributeError) as error:
        raise InputError(
            'The outlines cannot be read. Write them as {"photo.jpg": [[x, y], …]}, in pixels.'
        ) from error
    for name, points in outlines.items():
        if len(set(points)) < FEWEST or not all(math.isfinite(side) for p in points for side in p):
            raise InputError(f"The outline of {name} needs three different points or more.")
    return outlines
