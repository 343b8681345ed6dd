"""Outlines of one frag laid over each other in one scale, each turned as it fits best."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fraginv.growth.rules.outlines import Points, as_points, centroid

Radii = NDArray[np.float64]

# The picture's own units: a square of so many, whatever the millimetres.
SIDE: Final = 600
ROUND: Final = 5
MARGIN: Final = 1.15
ANGLES: Final = 180
# Below this a bar of a centimetre would be half the picture.
SMALL_MM: Final = 25


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline as a path in the picture's units; its number stands at a point beside it."""

    path: str
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A length in the picture: so many mm, from one place to another."""

    mm: int
    start: float
    end: float
    y: float = SIDE - 24.0

    @property
    def middle(self) -> float:
        """Return the place of its words."""
        return (self.start + self.end) / 2


def side_for(outlines: Sequence[ArrayLike]) -> int:
    """Return the side in mm of a square that holds each outline around its own middle."""
    reach = max(float(radii_from(outline).max()) for outline in outlines)
    return max(ROUND, math.ceil(2 * MARGIN * reach / ROUND) * ROUND)


def radii_from(outline: ArrayLike) -> Radii:
    """Return how far each point lies from the middle of its outline."""
    return np.asarray(np.hypot(*(as_points(outline) - centroid(outline)).T))


def bar_for(side_mm: int) -> Bar:
    """Return a bar of one centimetre, or of half one in a small picture."""
    mm = 10 if side_mm >= SMALL_MM else 5
    return Bar(mm, 24.0, 24.0 + SIDE * mm / side_mm)


def own_shape(outline: ArrayLike, *, side_mm: int) -> Shape:
    """Return an outline around its middle, as it stood before the camera."""
    return shape_of(as_points(outline) - centroid(outline), side_mm=side_mm)


def laid_over(outlines: Sequence[ArrayLike], *, side_mm: int) -> list[Shape]:
    """Return outlines over each other, the last as it stood, the others turned to fit it."""
    centred = [as_points(outline) - centroid(outline) for outline in outlines]
    last = centred[-1]
    turned = [spin(one, turn_to_fit(one, last)) for one in centred[:-1]]
    # Each number stands in another direction, so that none covers the next.
    return [
        shape_of(one, side_mm=side_mm, towards=2.4 * place)
        for place, one in enumerate([*turned, last])
    ]


def shape_of(points: Points, *, side_mm: int, towards: float = 0.0) -> Shape:
    """Return points around the middle, in mm, as a path."""
    placed = SIDE / 2 + points * (SIDE / side_mm)
    along = points @ np.array([math.cos(towards), math.sin(towards)])
    at = SIDE / 2 + points[int(np.argmax(along))] * (SIDE / side_mm)
    path = "L".join(f"{x:.1f} {y:.1f}" for x, y in placed)
    return Shape(f"M{path}Z", round(float(at[0]), 1), round(float(at[1]), 1))


def profile(points: Points) -> Radii:
    """Return how far an outline reaches from the middle in each of many directions."""
    angles = np.arctan2(points[:, 1], points[:, 0])
    order = np.argsort(angles)
    around = np.linspace(-math.pi, math.pi, ANGLES, endpoint=False)
    far = np.hypot(*points.T)[order]
    return np.asarray(np.interp(around, angles[order], far, period=2 * math.pi))


def turn_to_fit(points: Points, other: Points) -> float:
    """Return the angle by which an outline is turned so that it is most like another."""
    one, two = profile(points), profile(other)
    one, two = one - one.mean(), two - two.mean()
    likeness = np.fft.irfft(np.fft.rfft(two) * np.conj(np.fft.rfft(one)), ANGLES)
    return 2 * math.pi * int(np.argmax(likeness)) / ANGLES


def spin(points: Points, angle: float) -> Points:
    """Turn points around the middle by an angle, from x towards y."""
    cos, sin = math.cos(angle), math.sin(angle)
    return np.asarray(points @ np.array([[cos, sin], [-sin, cos]]))
