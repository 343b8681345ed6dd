"""Where the camera stood: between the pixels of a photograph and millimetres on the table.

The printed surface, label or card, is the plane at height 0: x to the right and y down as
it is printed, in millimetres; heights are counted towards the camera. Pixels are those of
the upright photograph, pixel centres at whole numbers. A lens is a pinhole whose axis meets
the middle of the picture; what is left of its bend moves a ray at r focal lengths from the
axis to r (1 + bend · r²).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fraginv.base.rules.optics import Optics

Points = NDArray[np.float64]
Row = tuple[float, float, float]

# Diagonal of a picture on 35 mm film, 36 × 24 mm.
FILM_DIAGONAL_MM: Final = math.hypot(36, 24)
# The main camera of a phone where the photograph does not say; common practice, no source.
USUAL_FOCAL_35_MM: Final = 26.0
# Relative standard deviations of a focal length: as written in whole millimetres by the
# camera, as supposed for a phone, and as supposed after a zoom or a cut.
SIGMA_TOLD: Final = 0.015
SIGMA_SUPPOSED: Final = 0.06
SIGMA_ALTERED: Final = 0.25
# Refractive index of sea water over that of air, rounded as divers do. Source: from memory.
WATER: Final = 1.33
# How far a phone leans that is held straight by eye. Common practice, no source.
CROOKED_DEG: Final = 10.0
# Each round brings a bent ray closer by a factor of about twice its bend.
UNBENDING_ROUNDS: Final = 6


class Scale(StrEnum):
    """What gave a photograph its measure."""

    CARD = "card"
    LABEL = "label"
    HAND = "hand"


@dataclass(frozen=True, slots=True)
class Focal:
    """A focal length in pixels with its relative standard deviation."""

    px: float
    sigma: float = SIGMA_TOLD


def focal_of(
    width: int, height: int, *, focal_35_mm: Decimal | float | None, optics: str = Optics.CAMERA
) -> Focal:
    """Return the focal length of a photograph in pixels.

    Args: its size in pixels; the 35 mm equivalent as Exif says it, None where it does not
        or is not to be believed; ``optics`` as ``base.rules.optics`` tells it.
    Source: CIPA DC-008 (Exif), FocalLengthIn35mmFilm; taken over the diagonal.
    """
    diagonal = math.hypot(width, height) / FILM_DIAGONAL_MM
    if focal_35_mm is not None:
        return Focal(float(focal_35_mm) * diagonal, SIGMA_TOLD)
    sigma = SIGMA_ALTERED if optics == Optics.ALTERED else SIGMA_SUPPOSED
    return Focal(USUAL_FOCAL_35_MM * diagonal, sigma)


def height_in_air(height_mm: float, *, through_water: bool) -> float:
    """Return the height that the camera sees; through the water's surface things seem closer.

    Source: Snell's law for small angles: apparent depth is depth over the refractive index.
    """
    return height_mm / WATER if through_water else height_mm


@dataclass(frozen=True, slots=True)
class View:
    """Where a camera stood, and how well that is known.

    A point (x, y, height) lies at ``rotation`` · (x, y, −height) + ``translation`` in the
    camera's own frame: x right, y down, z away from it, in mm.

    Attributes: ``focal_px`` and ``centre`` in pixels; ``sigma_scale`` and ``sigma_focal`` are
    relative standard deviations of lengths in the plane and of the focal length;
    ``residual_px`` is the root mean square distance between what was found and what fits;
    ``markers`` is how many markers of the card were used; ``bend`` is that of the lens.
    """

    focal_px: float
    centre: tuple[float, float]
    rotation: tuple[Row, Row, Row]
    translation: Row
    scale: Scale
    sigma_scale: float = 0.0
    sigma_focal: float = SIGMA_TOLD
    residual_px: float = 0.0
    markers: int = 0
    bend: float = 0.0

    @property
    def distance_mm(self) -> float:
        """Return how far the camera stands above the plane, at right angles to it, in mm.

        What stands at height h looks larger by D/(D − h) in length, whatever the tilt.
        """
        turn, shift = np.array(self.rotation), np.array(self.translation)
        return float(turn[:, 2] @ shift)

    @property
    def tilt_deg(self) -> float:
        """Return the angle between the lens' axis and the plane's upright, in degrees."""
        return math.degrees(math.acos(min(1.0, abs(self.rotation[2][2]))))

    def plane(self, height_mm: float) -> Points:
        """Return the 3 × 3 matrix from (x, y, 1) in mm at a height to rays."""
        turn, shift = np.array(self.rotation), np.array(self.translation)
        return np.column_stack([turn[:, 0], turn[:, 1], shift - turn[:, 2] * height_mm])

    def homography(self, height_mm: float = 0.0) -> Points:
        """Return the 3 × 3 matrix from (x, y, 1) in mm at a height to pixels, without the bend."""
        lens = np.array(
            [[self.focal_px, 0, self.centre[0]], [0, self.focal_px, self.centre[1]], [0, 0, 1]]
        )
        return np.asarray(lens @ self.plane(height_mm))

    def to_pixels(self, points_mm: ArrayLike, height_mm: float = 0.0) -> Points:
        """Return where points at a height are seen: n × 2 in mm to n × 2 in pixels."""
        rays = through(self.plane(height_mm), points_mm)
        if self.bend:
            rays = rays * (1 + self.bend * (rays**2).sum(axis=1, keepdims=True))
        return np.asarray(rays * self.focal_px + self.centre)

    def to_plane(self, points_px: ArrayLike, height_mm: float = 0.0) -> Points:
        """Return where the rays through pixels meet a height: n × 2 in pixels to n × 2 in mm."""
        bent = (np.asarray(points_px, float).reshape(-1, 2) - self.centre) / self.focal_px
        rays = bent
        for _ in range(UNBENDING_ROUNDS if self.bend else 0):
            rays = bent / (1 + self.bend * (rays**2).sum(axis=1, keepdims=True))
        return through(np.asarray(np.linalg.inv(self.plane(height_mm)), float), rays)

    def px_per_mm(self, point_mm: ArrayLike, height_mm: float = 0.0) -> float:
        """Return how many pixels a millimetre has around a point (x, y) at a height."""
        x, y = np.asarray(point_mm, dtype=np.float64)
        near = np.array([[x, y], [x + 0.01, y], [x, y + 0.01]])
        here, right, down = self.to_pixels(near, height_mm)
        (a, b), (c, d) = (right - here) / 0.01, (down - here) / 0.01
        return math.sqrt(abs(a * d - b * c))

    def as_dict(self) -> dict[str, Any]:
        """Return the view as it is kept, for JSON."""
        return {**asdict(self), "scale": self.scale.value}

    @classmethod
    def of_dict(cls, kept: Mapping[str, Any]) -> "View":
        """Return the view that was kept by ``as_dict``.

        Raises: KeyError, TypeError or ValueError where it was not.
        """
        one, two, three = (row_of(row) for row in kept["rotation"])
        x, y = kept["centre"]
        numbers = ("focal_px", "sigma_scale", "sigma_focal", "residual_px", "bend")
        return cls(
            centre=(float(x), float(y)),
            rotation=(one, two, three),
            translation=row_of(kept["translation"]),
            scale=Scale(kept["scale"]),
            markers=int(kept["markers"]),
            **{name: float(kept[name]) for name in numbers},
        )


def row_of(values: Sequence[float] | Points) -> Row:
    """Return three numbers as a tuple of plain floats."""
    x, y, z = values
    return (float(x), float(y), float(z))


def through(matrix: Points, points: ArrayLike) -> Points:
    """Take points n × 2 through a 3 × 3 matrix with the division by the third coordinate.

    Points that it takes to infinity come out as infinite or not a number, without a warning.
    """
    flat = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    lifted = flat @ matrix[:, :2].T + matrix[:, 2]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(lifted[:, :2] / lifted[:, 2:])


def view_by_hand(
    ends_px: ArrayLike, *, length_mm: float, width: int, height: int, focal: Focal
) -> View:
    """Return the view in which two points, seen straight from above, lie a length apart.

    Args: two points in pixels and the millimetres between them, both at height 0; the
        photograph's size in pixels.
    Raises: ValueError where the points are the same or the length is none.
    """
    one, two = np.asarray(ends_px, dtype=np.float64)
    length_px = float(np.hypot(*(two - one)))
    if length_px <= 0 or not length_mm > 0:
        raise ValueError("a scale needs two different points and a length above 0")
    distance = focal.px * length_mm / length_px
    # A finger sets a point to about 2 px.
    sigma = math.hypot(2 * math.sqrt(2) / length_px, 1 - math.cos(math.radians(CROOKED_DEG)))
    return View(
        focal_px=focal.px,
        centre=((width - 1) / 2, (height - 1) / 2),
        rotation=((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
        translation=(0.0, 0.0, distance),
        scale=Scale.HAND,
        sigma_scale=sigma,
        sigma_focal=focal.sigma,
    )
