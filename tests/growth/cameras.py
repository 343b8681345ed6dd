"""Cameras that stand where a test puts them."""

import math

import numpy as np

from fraginv.growth.rules.camera import Points, Scale, View, row_of


def turned_by(*, tilt_deg: float = 0.0, towards_deg: float = 0.0, roll_deg: float = 0.0) -> Points:
    """Return a rotation: tilted towards a direction in the plane, then rolled in the hand."""
    angle, way = math.radians(tilt_deg), math.radians(towards_deg)
    axis = np.array([math.cos(way), math.sin(way), 0.0])
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    tilt = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    roll = math.radians(roll_deg)
    spin = np.array(
        [[math.cos(roll), -math.sin(roll), 0], [math.sin(roll), math.cos(roll), 0], [0, 0, 1]]
    )
    return np.asarray(spin @ tilt)


def make_view(
    *,
    distance_mm: float = 300.0,
    tilt_deg: float = 0.0,
    towards_deg: float = 0.0,
    roll_deg: float = 0.0,
    looks_at: tuple[float, float] = (0.0, 0.0),
    focal_px: float = 3000.0,
    size: tuple[int, int] = (4000, 3000),
    scale: Scale = Scale.CARD,
) -> View:
    """Return a view whose axis meets the plane at a point, at a distance along the axis."""
    turn = turned_by(tilt_deg=tilt_deg, towards_deg=towards_deg, roll_deg=roll_deg)
    shift = np.array([0, 0, distance_mm]) - turn @ np.array([*looks_at, 0.0])
    one, two, three = (row_of(row) for row in turn)
    return View(
        focal_px=focal_px,
        centre=((size[0] - 1) / 2, (size[1] - 1) / 2),
        rotation=(one, two, three),
        translation=row_of(shift),
        scale=scale,
    )
