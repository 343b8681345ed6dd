"""A surface seen from above: how high it is at each place, its colour, and how it glows."""

from collections.abc import Callable
from dataclasses import dataclass, field
from math import atan2, hypot
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating[Any]]
Colour = tuple[float, float, float]

SIDE = 900
PLACES: Array = np.arange(SIDE, dtype=np.float32)


def flat() -> Array:
    """Return a sheet of zeros."""
    return np.zeros((SIDE, SIDE), dtype=np.float32)


def colours() -> Array:
    """Return three black sheets: red, green, blue."""
    return np.zeros((3, SIDE, SIDE), dtype=np.float32)


@dataclass
class Surface:
    """What has been drawn so far; heights are in pixels, colours and glow run from 0 to 1."""

    height: Array = field(default_factory=flat)
    colour: Array = field(default_factory=colours)
    glow: Array = field(default_factory=flat)

    def cover(
        self, rows: slice, columns: slice, *, height: Array, colour: Array, glow: Array | float
    ) -> None:
        """Lay a patch over what is there, where the patch is higher."""
        higher = height > self.height[rows, columns]
        np.copyto(self.height[rows, columns], height, where=higher)
        np.copyto(self.colour[:, rows, columns], colour, where=higher)
        np.copyto(self.glow[rows, columns], np.float32(glow), where=higher)


@dataclass(frozen=True)
class Paint:
    """A colour and how strongly it glows under blue light."""

    colour: Colour
    glow: float = 0.0


def reach(middle: float, radius: float) -> slice:
    """Return the rows or columns that a round thing touches."""
    low = min(SIDE, max(0, int(middle - radius)))
    return slice(low, min(SIDE, max(low, int(middle + radius) + 2)))


@dataclass(frozen=True)
class Patch:
    """The neighbourhood of a point, in polar terms."""

    rows: slice
    columns: slice
    across: Array
    down: Array

    @property
    def distance(self) -> Array:
        """Return how far each place is from the point."""
        return np.hypot(self.across, self.down)

    @property
    def angle(self) -> Array:
        """Return the direction of each place from the point, in radians."""
        return np.arctan2(self.down, self.across)


def patch(x: float, y: float, radius: float) -> Patch:
    """Return the neighbourhood of a point."""
    rows, columns = reach(y, radius), reach(x, radius)
    across = PLACES[columns][None, :] - np.float32(x)
    down = PLACES[rows][:, None] - np.float32(y)
    return Patch(rows, columns, across, down)


def sheets(colour: Array | Colour) -> Array:
    """Return a colour as three sheets that stretch over any patch."""
    if isinstance(colour, tuple):
        return np.array(colour, dtype=np.float32)[:, None, None]
    return colour


def mix(first: Array | Colour, second: Array | Colour, share: Array) -> Array:
    """Blend two colours; a share of 1 is all the second."""
    one, two = sheets(first), sheets(second)
    return one + (two - one) * np.clip(share, 0, 1)


def dome(
    surface: Surface, x: float, y: float, radius: float, *, base: float, rise: float, paint: Paint
) -> None:
    """Draw a round bump."""
    here = patch(x, y, radius)
    inside = 1 - (here.across**2 + here.down**2) / np.float32(radius * radius)
    height = np.where(inside > 0, base + rise * np.sqrt(np.maximum(inside, 0)), -1e6)
    surface.cover(
        here.rows,
        here.columns,
        height=height.astype(np.float32),
        colour=sheets(paint.colour),
        glow=paint.glow,
    )


Point = tuple[float, float, float]


def rod(
    surface: Surface,
    start: Point,
    end: Point,
    *,
    thick: tuple[float, float],
    paint: tuple[Paint, Paint],
) -> None:
    """Draw a round rod between two points, with its thickness and paint at both ends.

    Args: points as x, y and height of the rod's axis; ``thick`` are radii.
    """
    (x0, y0, z0), (x1, y1, z1) = start, end
    wide = max(thick)
    rows = slice(reach(min(y0, y1), wide).start, reach(max(y0, y1), wide).stop)
    columns = slice(reach(min(x0, x1), wide).start, reach(max(x0, x1), wide).stop)
    across = PLACES[columns][None, :] - np.float32(x0)
    down = PLACES[rows][:, None] - np.float32(y0)
    long, deep = x1 - x0, y1 - y0
    length = max(long * long + deep * deep, 1e-3)
    along = np.clip((across * long + down * deep) / np.float32(length), 0, 1)
    radius = thick[0] + (thick[1] - thick[0]) * along
    inside = radius**2 - (across - along * long) ** 2 - (down - along * deep) ** 2
    height = np.where(inside > 0, z0 + (z1 - z0) * along + np.sqrt(np.maximum(inside, 0)), -1e6)
    first, second = paint
    glow = first.glow + (second.glow - first.glow) * along
    surface.cover(
        rows,
        columns,
        height=height.astype(np.float32),
        colour=mix(first.colour, second.colour, along),
        glow=glow.astype(np.float32),
    )


def bend(start: Point, end: Point, *, bow: float, steps: int) -> list[Point]:
    """Return points along a bow between two points; ``bow`` is how far it swings aside."""
    (x0, y0, z0), (x1, y1, z1) = start, end
    turn = atan2(y1 - y0, x1 - x0)
    span = hypot(x1 - x0, y1 - y0) * bow
    points = []
    for step in range(steps + 1):
        part = step / steps
        aside = 4 * part * (1 - part) * span
        points.append(
            (
                x0 + (x1 - x0) * part - np.sin(turn) * aside,
                y0 + (y1 - y0) * part + np.cos(turn) * aside,
                z0 + (z1 - z0) * part,
            )
        )
    return points


def disc(
    surface: Surface,
    x: float,
    y: float,
    radius: float,
    *,
    outline: Callable[[Array], Array],
    relief: Callable[[Array, Array], Array],
    paint: Callable[[Array, Array], tuple[Array, Array]],
) -> None:
    """Draw a flat round thing with a wavy outline, a relief and a pattern of its own.

    Args: ``outline`` gives the radius, in parts of the whole, by angle;
    ``relief`` the height and ``paint`` colour and glow by distance from the
    middle (0 to 1) and angle.
    """
    here = patch(x, y, radius * 1.25)
    angle = here.angle
    away = here.distance / (np.float32(radius) * outline(angle))
    height = np.where(away < 1, relief(away, angle), -1e6)
    colour, glow = paint(away, angle)
    surface.cover(
        here.rows,
        here.columns,
        height=height.astype(np.float32),
        colour=colour.astype(np.float32),
        glow=glow.astype(np.float32),
    )
