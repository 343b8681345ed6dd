"""A pinhole camera that knows exactly where it stands.

The printed surface is the plane z = 0 in millimetres, x to the right and y down as
printed, z (height) towards the camera. Inside, a third axis away from the camera keeps
the frame right-handed. Pixels have their centres at whole numbers.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Grey = npt.NDArray[np.uint8]
Image = npt.NDArray[np.float32]
# Diagonal of a frame of 35 mm film in mm. Source: 24 x 36 mm.
FILM_DIAGONAL_MM = 43.2666
UNDISTORTING_ROUNDS = 8


@dataclass(frozen=True)
class Camera:
    """Hold where a camera stands: point in its frame = rotation (x, y, -height) + translation.

    ``k1`` is the radial distortion of the lens: r' = r (1 + k1 r²), r in focal lengths.
    """

    focal_px: float
    width: int
    height: int
    rotation: Array
    translation: Array
    k1: float = 0.0

    @property
    def centre(self) -> tuple[float, float]:
        """Return the pixel on the optical axis: the middle of the picture."""
        return (self.width - 1) / 2, (self.height - 1) / 2

    @property
    def tilt_deg(self) -> float:
        """Return the angle between the optical axis and the sheet's upright."""
        return float(np.degrees(np.arccos(np.clip(self.rotation[2, 2], -1, 1))))

    @property
    def distance_mm(self) -> float:
        """Return how high the lens stands above the plane z = 0."""
        return float(-self.position[2])

    @property
    def position(self) -> Array:
        """Return the lens' place, the third coordinate away from the camera."""
        return np.asarray(-self.rotation.T @ self.translation)

    def to_pixels(self, points_mm: Array, height_mm: float | Array = 0.0) -> Array:
        """Return where points (n, 2) at a height, or at one each, are seen."""
        points = np.asarray(points_mm, float).reshape(-1, 2)
        down = np.broadcast_to(-np.asarray(height_mm, float), (len(points),))
        seen = np.column_stack([points, down]) @ self.rotation.T + self.translation
        flat = seen[:, :2] / seen[:, 2:]
        return np.asarray(flat * self.stretch(flat) * self.focal_px + self.centre)

    def stretch(self, flat: Array) -> Array:
        """Return how much further out the lens puts points (n, 2), given in focal lengths."""
        return np.asarray(1 + self.k1 * (flat[:, 0] ** 2 + flat[:, 1] ** 2))[:, None]

    def to_plane(self, points_px: Array, height_mm: float | Array = 0.0) -> Array:
        """Return where pixels (n, 2) meet the plane at a height, or at one each, in mm."""
        return self.meet(self.rays(points_px), height_mm)

    def rays(self, points_px: Array) -> Array:
        """Return the directions in which pixels (n, 2) look, as (n, 3)."""
        seen = (np.asarray(points_px, float).reshape(-1, 2) - self.centre) / self.focal_px
        flat = seen
        if self.k1:
            for _ in range(UNDISTORTING_ROUNDS):
                flat = seen / self.stretch(flat)
        return np.asarray(np.column_stack([flat, np.ones(len(flat))]) @ self.rotation)

    def meet(self, rays: Array, height_mm: float | Array) -> Array:
        """Return where rays from the lens meet the plane at a height, or at one each, in mm."""
        start = self.position
        steps = (-np.asarray(height_mm, float) - start[2]) / rays[:, 2]
        return np.asarray(start[:2] + steps[:, None] * rays[:, :2])

    def px_per_mm(
        self, at_mm: tuple[float, float] = (0.0, 0.0), *, height_mm: float = 0.0
    ) -> float:
        """Return the scale at a point: the root of how many pixels a square millimetre covers."""
        x, y = at_mm
        square = np.array([[x, y], [x + 1, y], [x + 1, y + 1], [x, y + 1]]) - 0.5
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = self.to_pixels(square, height_mm)
        return math.sqrt(abs((cx - ax) * (dy - by) - (dx - bx) * (cy - ay)) / 2)

    def framed(self, width: int, height: int) -> "Camera":
        """Return the same camera with a smaller or larger sensor around the optical axis."""
        return replace(self, width=width, height=height)


def as_image(values: npt.ArrayLike) -> Image:
    """Return values as light, in 32 bits."""
    return np.asarray(values, np.float32)


def turning(axis: int, degrees: float) -> Array:
    """Return the matrix that turns about one axis."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.eye(3)
    i, j = (axis + 1) % 3, (axis + 2) % 3
    turn[i, i] = turn[j, j] = cos
    turn[i, j], turn[j, i] = -sin, sin
    return turn


def looking(
    *,
    at_mm: tuple[float, float] = (0.0, 0.0),
    distance_mm: float = 280.0,
    tilt_deg: float = 0.0,
    towards_deg: float = 0.0,
    roll_deg: float = 0.0,
    focal_px: float = 3028.0,
    size: tuple[int, int] = (4032, 3024),
    k1: float = 0.0,
) -> Camera:
    """Return a camera that looks at a point of the plane z = 0.

    Args: ``distance_mm`` along its axis, ``towards_deg`` to which side of the picture it
        leans, ``roll_deg`` how the picture is turned, ``size`` as width and height in pixels.
    """
    lean = turning(2, towards_deg) @ turning(0, tilt_deg) @ turning(2, -towards_deg)
    rotation = turning(2, roll_deg) @ lean
    target = np.array([at_mm[0], at_mm[1], 0.0])
    translation = np.array([0.0, 0.0, distance_mm]) - rotation @ target
    return Camera(focal_px, *size, rotation, translation, k1)


def focal_35_of(focal_px: float, *, size: tuple[int, int]) -> float:
    """Return the focal length in mm that looks as wide on 35 mm film, by the diagonals."""
    return focal_px * FILM_DIAGONAL_MM / float(np.hypot(*size))
