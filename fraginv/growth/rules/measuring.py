"""The size of what an outline in a photograph encloses, and how far it is to be believed.

Sizes are those of the outline as seen from straight above: the *projected area*, and the
largest diameter. Where an outline is uncertain, its size is; with that of the scale and of
the height it adds up by squares.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Points, View, height_in_air
from fraginv.growth.rules.outlines import (
    REVIEWED,
    EdgeError,
    area_mm2,
    as_points,
    crosses_itself,
    feret_mm,
    sigma_of_area,
    sigma_of_diameter,
    touches_edge,
)
from fraginv.growth.rules.problems import Problem

# A height by ruler; common practice, no source.
SIGMA_HEIGHT_MM: Final = 1.0
# Where no height is known: frags on plugs are widest some 15 mm above what they stand on.
USUAL_HEIGHT_MM: Final = 15.0
# What a water's surface that is not quite still adds to lengths.
SIGMA_WATER: Final = 0.02
# What encloses less is a line.
LEAST_AREA_MM2: Final = 0.01
# An outline is taken for the plug's rim where their diameters are this close.
LIKE_THE_PLUG: Final = 0.03


@dataclass(frozen=True, slots=True)
class Height:
    """How high something stands above the card or label, in mm; None where nobody said.

    ``sigma_mm`` is how far that is to be believed, a standard deviation.
    """

    mm: float | None
    sigma_mm: float = SIGMA_HEIGHT_MM
    through_water: bool = False

    @property
    def seen_mm(self) -> float:
        """Return the height that the camera sees; 0 where nobody said."""
        return height_in_air(self.mm or 0.0, through_water=self.through_water)

    def sigma_of_length(self, view: View) -> float:
        """Return the relative standard deviation of lengths that are seen at this height."""
        gap = view.distance_mm - self.seen_mm
        sigma_mm = USUAL_HEIGHT_MM if self.mm is None else self.sigma_mm
        seen = height_in_air(sigma_mm, through_water=self.through_water)
        return math.hypot(
            view.sigma_scale,
            view.sigma_focal * self.seen_mm / gap,
            seen / gap,
            SIGMA_WATER if self.through_water else 0.0,
        )

    def doubts(self, view: View) -> tuple[Problem, ...]:
        """Return what stands against measuring at this height, or beside it."""
        if not self.seen_mm < 0.9 * view.distance_mm:
            return (problems.TOO_HIGH,)
        missing = (problems.HEIGHT_MISSING,) if self.mm is None else ()
        return (*missing, problems.THROUGH_WATER) if self.through_water else missing


@dataclass(frozen=True, slots=True)
class Measured:
    """The size of an outline.

    Attributes: the projected area in mm² and the largest diameter in mm, with their standard
    deviations; the outline in mm in its own plane, n × 2; what is to be said of it.
    """

    area_mm2: float
    diameter_mm: float
    sigma_area_mm2: float
    sigma_diameter_mm: float
    outline_mm: tuple[tuple[float, float], ...]
    problems: tuple[Problem, ...] = ()

    @property
    def is_corrected(self) -> bool:
        """Tell whether the height was known, without which sizes are too large."""
        return problems.HEIGHT_MISSING not in self.problems


@dataclass(frozen=True, slots=True)
class Length:
    """The length between two points in mm, its standard deviation, what is to be said of it."""

    mm: float
    sigma_mm: float
    problems: tuple[Problem, ...] = ()


def measure_outline(
    view: View,
    *,
    outline_px: ArrayLike,
    height: Height,
    error: EdgeError = REVIEWED,
    size: tuple[int, int] | None = None,
    plug_mm: float | None = None,
) -> Measured | Problem:
    """Measure what an outline in a photograph encloses; say why where that cannot be.

    Args: n × 2 pixels, straight between them (``outlines.smooth`` draws curves); the height
        of the frag's widest contour; how far the outline is to be believed; the photograph's
        width and height and the plug's diameter, where they are known, to warn by.
    """
    try:
        points = as_points(outline_px)
    except ValueError:
        return problems.OUTLINE_EMPTY
    said = (*edge_doubts(points, size), *height.doubts(view))
    if problems.TOO_HIGH in said:
        return problems.TOO_HIGH
    if crosses_itself(points):
        return problems.OUTLINE_CROSSES
    outline = view.to_plane(points, height.seen_mm)
    if not is_before(view, points, height.seen_mm) or not np.isfinite(outline).all():
        return problems.OUTLINE_BEYOND
    area, diameter = area_mm2(outline), feret_mm(outline)
    if area < LEAST_AREA_MM2:
        return problems.OUTLINE_EMPTY
    relative = height.sigma_of_length(view)
    return Measured(
        area_mm2=area,
        diameter_mm=diameter,
        sigma_area_mm2=math.hypot(2 * relative * area, sigma_of_area(outline, error=error)),
        sigma_diameter_mm=math.hypot(relative * diameter, sigma_of_diameter(error)),
        outline_mm=tuple((float(x), float(y)) for x, y in outline),
        problems=(*said, *plug_doubts(area, plug_mm)),
    )


def plug_doubts(area: float, plug_mm: float | None) -> tuple[Problem, ...]:
    """Return what is to be said of an outline as large as the plug, if that is known."""
    if not plug_mm or abs(math.sqrt(4 * area / math.pi) / plug_mm - 1) >= LIKE_THE_PLUG:
        return ()
    return (problems.OUTLINE_IS_PLUG,)


def edge_doubts(points: Points, size: tuple[int, int] | None) -> tuple[Problem, ...]:
    """Return what is to be said of an outline that reaches the edge of the photograph."""
    if size is None or not touches_edge(points, width=size[0], height=size[1]):
        return ()
    return (problems.OUTLINE_AT_EDGE,)


def is_before(view: View, points: Points, height_mm: float) -> bool:
    """Tell whether rays through pixels meet the height in front of the camera."""
    rays = np.column_stack([(points - view.centre) / view.focal_px, np.ones(len(points))])
    # The plane's upright in the camera's frame points away from the camera.
    return bool((rays @ np.array(view.rotation)[:, 2] > 0).all()) and view.distance_mm > height_mm


def measure_length(
    view: View, *, ends_px: ArrayLike, height: Height, error: EdgeError = REVIEWED
) -> Length | Problem:
    """Measure the length between two points of a photograph, for want of an outline.

    Args: 2 × 2 pixels; the height of both.
    """
    ends = np.asarray(ends_px, dtype=np.float64).reshape(2, 2)
    said = height.doubts(view)
    if problems.TOO_HIGH in said:
        return problems.TOO_HIGH
    if not is_before(view, ends, height.seen_mm):
        return problems.OUTLINE_BEYOND
    one, two = view.to_plane(ends, height.seen_mm)
    length = float(np.hypot(*(two - one)))
    if length <= 0:
        return problems.OUTLINE_EMPTY
    sigma = math.hypot(height.sigma_of_length(view) * length, sigma_of_diameter(error))
    return Length(length, sigma, said)
