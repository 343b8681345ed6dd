"""What a person drew into a photo, and what is stored of it."""

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final, Protocol

import numpy as np

from fraginv.base.errors import Conflict, InputError
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Focal, Points, View, view_by_hand
from fraginv.growth.rules.handles import handles_of
from fraginv.growth.rules.measured import OutlineBy
from fraginv.growth.rules.measuring import Height
from fraginv.growth.rules.outlines import FEWEST_POINTS, simplify, smooth
from fraginv.growth.rules.problems import Problem

# Raised when the same pixels would give another size.
VERSION: Final = "1"
MOST_POINTS: Final = 200
MOST_HEADS: Final = 500
MOST_PX: Final = 100_000
LONGEST_MM: Final = 1000.0
# A stored outline strays from the curve that was drawn by no more than this; its area by less
# than a thousandth.
STORED_MM: Final = 0.01
# Plugs and discs are sold with such rims; common practice, no source.
RIMS_MM: Final = (15.0, 20.0, 25.0, 30.0)
RIM_GAP: Final = 0.03
# A disc has all the area that its largest diameter allows; corals hardly ever have as much.
RIM_ROUND: Final = 0.97

Pair = tuple[float, float]
Pairs = tuple[Pair, ...]


class Method(StrEnum):
    """How a size was measured."""

    OUTLINE = "outline"
    LENGTH = "length"
    HEADS = "heads"


class Doubt(Conflict):
    """Something that is asked once more before it is stored."""

    code = "doubt"

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.text, doubt=problem.code)


@dataclass(frozen=True, slots=True)
class ByHand:
    """Two points in pixels and the millimetres between them, where nothing else gives a scale."""

    ends_px: Pairs
    length_mm: float

    def view(self, size: tuple[int, int], *, focal: Focal) -> View:
        """Return the view that these points tell.

        Args: the photo's width and height in pixels.
        Raises: InputError where they tell none.
        """
        if len(self.ends_px) != 2 or not 0 < self.length_mm <= LONGEST_MM:
            raise InputError(
                "Set two points and type the length between them in millimetres, at most"
                f" {LONGEST_MM:g}."
            )
        try:
            return view_by_hand(
                self.ends_px, length_mm=self.length_mm, width=size[0], height=size[1], focal=focal
            )
        except ValueError as error:
            raise InputError("Both ends of the length are one point. Set them apart.") from error


@dataclass(frozen=True, slots=True)
class Drawn:
    """What a person drew, in pixels of the upright photo.

    ``handles_px`` are few points of a smooth outline, ``ends_px`` two ends of the frag where
    only its width is asked; ``heads_px`` one point a head. ``by_hand`` is a scale of a
    person's own; ``sure`` the codes of doubts that were answered.
    """

    height_mm: float | None = None
    through_water: bool = False
    handles_px: Pairs = ()
    ends_px: Pairs = ()
    heads_px: Pairs = ()
    outline_by: OutlineBy = OutlineBy.DRAWN
    by_hand: ByHand | None = None
    sure: frozenset[str] = frozenset()

    @property
    def height(self) -> Height:
        """Return how high the frag is widest, as it is measured with."""
        return Height(self.height_mm, through_water=self.through_water)


@dataclass(frozen=True, slots=True)
class Sized:
    """A size that was measured, with all that is stored of it."""

    method: Method
    view: View | None = None
    area_mm2: float | None = None
    sigma_area_mm2: float | None = None
    diameter_mm: float | None = None
    sigma_diameter_mm: float | None = None
    heads_px: Pairs = ()
    height_mm: float | None = None
    through_water: bool = False
    outline_by: str = ""
    outline_px: Pairs = ()
    outline_mm: Pairs = ()
    problems: tuple[Problem, ...] = field(default=())
    version: str = VERSION

    @property
    def heads(self) -> int | None:
        """Return how many heads were counted; None where nobody counted."""
        return len(self.heads_px) or None


def read_points(text: str, *, most: int = MOST_POINTS) -> Pairs:
    """Read points that a script sent, as JSON: ``[[x, y], …]`` in pixels.

    Raises: InputError for anything else, or too many.
    """
    try:
        found = json.loads(text or "[]")
        points = tuple((float(x), float(y)) for x, y in found)
    except (ValueError, TypeError) as error:
        raise InputError(
            "The outline cannot be read. Load the page anew and draw again."
        ) from error
    if len(points) > most:
        raise InputError(f"These are more than {most} points. Remove some.")
    if not all(math.isfinite(side) and abs(side) < MOST_PX for point in points for side in point):
        raise InputError("A point lies far outside the photo. Remove it.")
    return points


def curve_of(view: View, handles_px: Sequence[Pair], *, height: Height) -> Points:
    """Return the smooth outline through few points, dense, in pixels.

    It is drawn in millimetres, as the page draws it.
    Raises: InputError for fewer than 3 points, or where the camera cannot see them so: near its
        horizon a pixel is kilometres away.
    """
    if len(set(handles_px)) < FEWEST_POINTS:
        raise InputError(problems.OUTLINE_EMPTY.text)
    with np.errstate(all="ignore"):
        placed = view.to_plane(handles_px, height.seen_mm)
    if not np.isfinite(placed).all() or np.ptp(placed, axis=0).max() > LONGEST_MM:
        raise InputError(problems.OUTLINE_BEYOND.text)
    return view.to_pixels(smooth(placed), height.seen_mm)


def stored(outline_mm: Sequence[Pair], *, view: View, height: Height) -> tuple[Pairs, Pairs]:
    """Return an outline as it is stored: with fewer points, in pixels and in millimetres."""
    fewer = simplify(outline_mm, eps_mm=STORED_MM)
    return pairs_of(view.to_pixels(fewer, height.seen_mm), digits=2), pairs_of(fewer, digits=3)


def handles_px_of(view: View, outline_px: Any, *, height: Height) -> Pairs:
    """Return few points by which an outline in pixels is moved, in pixels."""
    few = handles_of(view.to_plane(outline_px, height.seen_mm))
    return pairs_of(view.to_pixels(few, height.seen_mm), digits=2)


def pairs_of(points: Points, *, digits: int) -> Pairs:
    """Return n × 2 numbers as plain pairs, rounded."""
    return tuple((round(float(x), digits), round(float(y), digits)) for x, y in points)


def is_like_a_rim(
    area_mm2: float, *, diameter_mm: float, medium: str, lower: float = 1.0, by_hand: bool = False
) -> bool:
    """Tell whether an outline is a disc as large as the rim of a usual plug or disc.

    Args: ``lower`` is by how much lengths are larger where such rims are, beneath the frag;
        ``by_hand`` says that the scale was set by hand, so that a rim may seem of any size.
    """
    round_mm = math.sqrt(4 * area_mm2 / math.pi)
    is_round = (round_mm / diameter_mm) ** 2 > RIM_ROUND
    sizes = (round_mm, round_mm * lower)
    is_rim = by_hand or any(abs(size / rim - 1) < RIM_GAP for size in sizes for rim in RIMS_MM)
    return medium != "tile" and is_round and is_rim


class Told(Protocol):
    """What is said of a size, whether it was stored or not."""

    @property
    def diameter_mm(self) -> float | None: ...

    @property
    def area_mm2(self) -> float | None: ...

    @property
    def sigma_area_mm2(self) -> float | None: ...

    @property
    def heads(self) -> int | None: ...


def said_area(area_mm2: float, *, sigma_mm2: float) -> str:
    """Say an area with its standard error in cm², to the hundredth, as scripts and tables do."""
    unsure = max(0.01, sigma_mm2 / 100)
    return f"{area_mm2 / 100:.2f} cm² projected (± {unsure:.2f} cm²)"


def said_of(sized: Told) -> str:
    """Say a size in words: *24 mm across, 3.92 cm² projected (± 0.08 cm²), 3 heads*."""
    told = []
    if sized.diameter_mm:
        told.append(f"{sized.diameter_mm:.0f} mm across")
    if sized.area_mm2:
        told.append(said_area(sized.area_mm2, sigma_mm2=sized.sigma_area_mm2 or 0))
    if sized.heads:
        told.append(f"{sized.heads} {'head' if sized.heads == 1 else 'heads'}")
    return ", ".join(told)
