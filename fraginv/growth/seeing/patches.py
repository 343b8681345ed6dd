"""A square of the plane in which a frag is widest, as seen from straight above."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from fraginv.growth.rules.camera import Points, View

Colour = NDArray[np.uint8]
Mask = NDArray[np.uint8]

PX_PER_MM: Final = 8.0
SIDE_MM: Final = 48.0
SIDE_PX: Final = round(SIDE_MM * PX_PER_MM)
# Lamps are mirrored in small white spots; white paper is a large one.
WHITE, LARGEST_GLARE_MM2 = 250, 100.0
AROUND_GLARE_PX: Final = 2


@dataclass(frozen=True)
class Patch:
    """A square of the plane at a height: RGB pixels, where its corner lies, and what saw it.

    ``low_mm`` is the place of the top left pixel's centre.
    """

    pixels: Colour
    low_mm: Points
    view: View
    height_mm: float
    size_px: tuple[int, int]

    def to_photo(self, points: ArrayLike) -> Points:
        """Return where pixels of the patch (n × 2) are in the photo, in its pixels."""
        places = np.asarray(points, np.float64) / PX_PER_MM + self.low_mm
        return self.view.to_pixels(places, self.height_mm)

    @cached_property
    def glare(self) -> Mask:
        """Return 1 where a lamp is mirrored: small spots as white as can be."""
        white = (self.pixels.min(axis=2) >= WHITE).astype(np.uint8)
        count, places, boxes, _ = cv2.connectedComponentsWithStats(white)
        spots = np.zeros(count, np.uint8)
        for number, (left, top, wide, high, area) in enumerate(boxes.tolist()):
            inside = left > 0 and top > 0 and left + wide < SIDE_PX and top + high < SIDE_PX
            spots[number] = number > 0 and inside and area <= LARGEST_GLARE_MM2 * PX_PER_MM**2
        return np.asarray(spots[places], np.uint8)

    @cached_property
    def plain(self) -> Colour:
        """Return the pixels with mirrored lamps painted over from around them."""
        if not self.glare.any():
            return self.pixels
        side = 2 * AROUND_GLARE_PX + 1
        wider = cv2.dilate(self.glare, np.ones((side, side), np.uint8))
        return np.asarray(cv2.inpaint(self.pixels, wider, 3, cv2.INPAINT_TELEA), np.uint8)

    @cached_property
    def outside(self) -> NDArray[np.bool_]:
        """Return where the patch reaches beyond the photo."""
        return beyond(photo_places(self.view, self.low_mm, self.height_mm), self.size_px)


def patch_around(
    colour: Colour, view: View, *, middle_mm: Points, height_mm: float
) -> Patch | None:
    """Return the patch around a place, or None where the camera cannot have seen it.

    Args: the upright photo h × w × 3 in RGB; the place (x, y) and the height in mm.
    """
    low = np.asarray(middle_mm, np.float64) - (SIDE_PX - 1) / 2 / PX_PER_MM
    places = photo_places(view, low, height_mm)
    size = (colour.shape[1], colour.shape[0])
    if not view.distance_mm > height_mm or not np.isfinite(places).all():
        return None
    if beyond(places, size).all():
        return None
    left, top = np.clip(np.floor(places.min(axis=(0, 1))).astype(int) - 1, 0, None).tolist()
    right, bottom = (np.ceil(places.max(axis=(0, 1))).astype(int) + 2).tolist()
    part = colour[top:bottom, left:right]
    at = places - np.array([left, top], np.float32)
    # A photo finer than the patch is made softer first, so that none of it is skipped.
    fineness = view.px_per_mm(middle_mm, height_mm) / PX_PER_MM
    if fineness > 1.3:
        part = np.asarray(cv2.GaussianBlur(part, (0, 0), 0.4 * fineness), np.uint8)
    seen = cv2.remap(
        part, at[:, :, 0], at[:, :, 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return Patch(np.asarray(seen, np.uint8), low, view, height_mm, size)


def photo_places(view: View, low_mm: Points, height_mm: float) -> NDArray[np.float32]:
    """Return where each pixel of a patch is in the photo, n × n × 2."""
    along = np.arange(SIDE_PX) / PX_PER_MM
    grid = np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2) + low_mm
    seen = view.to_pixels(grid, height_mm).astype(np.float32)
    return np.asarray(seen.reshape(SIDE_PX, SIDE_PX, 2))


def beyond(places: NDArray[np.float32], size_px: tuple[int, int]) -> NDArray[np.bool_]:
    """Return which places (… × 2) lie outside a photo of that width and height."""
    x, y = places[..., 0], places[..., 1]
    width, height = size_px
    return np.asarray((x < 0) | (y < 0) | (x > width - 1) | (y > height - 1))
