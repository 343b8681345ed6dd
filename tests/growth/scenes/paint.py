"""Painting planes and bent sheets as a sensor sees them: by the share of each pixel's area.

Coverage is exact along rows and taken on many lines within each row; what a sheet shows
is sampled several times within each pixel in each direction. All in linear light.
"""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from tests.growth.scenes.camera import Array, Camera, Grey, Image, as_image

LINES_A_ROW = 32
CELL = 8
HIT_ROUNDS = 4
# Height in mm above the plane of points (n, 2) in mm.
Relief = Callable[[Array], Array]


@dataclass(frozen=True)
class Window:
    """Hold a rectangle of pixels of a picture."""

    left: int
    top: int
    width: int
    height: int

    @property
    def slices(self) -> tuple[slice, slice]:
        """Return the rows and columns."""
        return (
            slice(self.top, self.top + self.height),
            slice(self.left, self.left + self.width),
        )

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing lies in it."""
        return self.width <= 0 or self.height <= 0


def window_around(points_px: Array, *, within: Camera, margin: int = 2) -> Window:
    """Return the pixels around points, as far as they lie in the picture."""
    low = np.floor(points_px.min(0)).astype(int) - margin
    high = np.ceil(points_px.max(0)).astype(int) + margin + 1
    left, top = np.maximum(low, 0)
    right, bottom = np.minimum(high, (within.width, within.height))
    return Window(int(left), int(top), int(right - left), int(bottom - top))


def coverage(polygon_px: Array, window: Window) -> Image:
    """Return which share of each pixel's area a simple polygon covers, from 0 to 1."""
    points = polygon_px - (window.left - 0.5, window.top - 0.5)
    x, y = points[:, 0], points[:, 1] * LINES_A_ROW - 0.5
    nx, ny = np.roll(x, -1), np.roll(y, -1)
    first, last = np.ceil(np.minimum(y, ny)), np.ceil(np.maximum(y, ny)) - 1
    first = np.maximum(first, 0)
    last = np.minimum(last, window.height * LINES_A_ROW - 1)
    counts = np.maximum(last - first + 1, 0).astype(int)
    edges = np.repeat(np.arange(len(x)), counts)
    lines = first[edges] + np.arange(counts.sum()) - np.repeat(counts.cumsum() - counts, counts)
    share = (lines - y[edges]) / (ny - y)[edges]
    at = np.clip(x[edges] + share * (nx - x)[edges], 0, window.width)
    rows = (lines // LINES_A_ROW).astype(int)
    columns = np.minimum(at.astype(int), window.width - 1)
    part = columns + 1 - at
    sign = np.where(ny > y, 1.0, -1.0)[edges] / LINES_A_ROW
    steps = np.zeros((window.height, window.width + 1))
    np.add.at(steps, (rows, columns), sign * part)
    np.add.at(steps, (rows, columns + 1), sign * (1 - part))
    return as_image(np.abs(steps.cumsum(1)[:, :-1]).clip(0, 1))


def flat_at(height_mm: float) -> Relief:
    """Return the relief of a plane."""
    return lambda points: np.full(len(points), height_mm)


def hit(camera: Camera, points_px: Array, relief: Relief) -> Array:
    """Return where pixels (n, 2) meet a nearly flat surface, in mm."""
    rays = camera.rays(points_px)
    found = camera.meet(rays, 0.0)
    for _ in range(HIT_ROUNDS):
        found = camera.meet(rays, relief(found))
    return found


def sampled(
    pixels: Grey | Image,
    window: Window,
    *,
    camera: Camera,
    relief: Relief,
    onto: Callable[[Array], Array],
    px_per_mm: float,
    fine: int,
) -> Image:
    """Return what each sample of a window shows of a picture that lies on a surface.

    Where a sample lies is worked out on a coarse grid and filled in between.
    Args: ``onto`` turns places of the scene into the picture's own, in mm from its corner;
        ``fine`` samples a pixel a side.
    """
    wide, high = window.width * fine, window.height * fine
    columns = np.arange(-1, -(-wide // CELL) + 1) * CELL + (CELL - 1) / 2
    rows = np.arange(-1, -(-high // CELL) + 1) * CELL + (CELL - 1) / 2
    grid = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    seen = (grid + 0.5) / fine - 0.5 + (window.left, window.top)
    own = onto(hit(camera, seen, relief)) * px_per_mm - 0.5
    coarse = own.reshape(len(rows), len(columns), 2).astype(np.float32)
    full = cv2.resize(coarse, None, fx=CELL, fy=CELL, interpolation=cv2.INTER_LINEAR)
    at = full[CELL : CELL + high, CELL : CELL + wide]
    # The library takes None for the second map, its stub does not.
    found = cv2.remap(  # type: ignore[call-overload]
        pixels, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(found)


def lay_over(canvas: Image, window: Window, colour: Image, share: Image) -> None:
    """Lay a colour (h, w, 3) or (h, w, 1) over a part of the canvas, by its share of each pixel."""
    part = canvas[window.slices]
    part += (colour - part) * share[:, :, None]
