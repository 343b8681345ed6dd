"""A part of a photo as it looks from straight above, in a scale that is the same for all."""

from collections.abc import Callable
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from fraginv.growth.rules.camera import View

Colour = NDArray[np.uint8]
Box = tuple[int, int, int, int]

Matrix = NDArray[np.float64]
MOST_PX: Final = 600
PX_PER_MM: Final = 12.0
QUALITY: Final = 85


def seen_from_above(
    unpack: Callable[[Box], Colour],
    view: View,
    *,
    centre_mm: tuple[float, float],
    side_mm: float,
    height_mm: float,
) -> bytes:
    """Return a square of the plane at a height as JPEG, its sides along those of the card.

    What the photo does not show is black.
    Args: ``unpack`` gives the pixels h × w × 3 (RGB) inside a box of the upright photo: left,
        top, right, bottom; the square's middle and side in mm; the height as it is seen.
    Raises: ValueError where the camera cannot have seen the square.
    """
    low = np.asarray(centre_mm) - side_mm / 2
    corners = low + side_mm * np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    seen = view.to_pixels(corners, height_mm)
    if not np.isfinite(seen).all() or not view.distance_mm > height_mm:
        raise ValueError("the camera cannot have seen this")
    left, top = (int(part) for part in np.floor(seen.min(axis=0)) - 2)
    right, bottom = (int(part) for part in np.ceil(seen.max(axis=0)) + 3)
    left, top = max(left, 0), max(top, 0)
    pixels = unpack((left, top, right, bottom))
    count = min(MOST_PX, max(1, round(side_mm * PX_PER_MM)))
    step = side_mm / count
    to_mm = np.array([[step, 0, low[0] + step / 2], [0, step, low[1] + step / 2], [0, 0, 1]])
    shift = np.array([[1, 0, -left], [0, 1, -top], [0, 0, 1]])
    matrix = shift @ view.homography(height_mm) @ to_mm
    shrink = max(1, int(view.px_per_mm(centre_mm, height_mm) * step))
    pixels, matrix = made_smaller(pixels, matrix, shrink=shrink)
    flat = cv2.warpPerspective(
        pixels, matrix, (count, count), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    )
    done, data = cv2.imencode(".jpg", flat[:, :, ::-1], [cv2.IMWRITE_JPEG_QUALITY, QUALITY])
    if not done:
        raise ValueError("the picture could not be written")
    return data.tobytes()


def made_smaller(pixels: Colour, matrix: Matrix, *, shrink: int) -> tuple[Colour, Matrix]:
    """Return a picture in which several pixels have become one, and the matrix into it.

    Args: ``matrix`` 3 × 3 into pixels of the picture; how many of them become one, each way.
    """
    if shrink == 1:
        return pixels, matrix
    size = (max(1, pixels.shape[1] // shrink), max(1, pixels.shape[0] // shrink))
    fewer = np.diag([size[0] / pixels.shape[1], size[1] / pixels.shape[0], 1.0])
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    return small, np.asarray(np.linalg.inv(half) @ fewer @ half @ matrix)
