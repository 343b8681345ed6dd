"""Few points for many: by which points of an outline a person moves it."""

import math
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fraginv.growth.rules.outlines import (
    Points,
    area_mm2,
    as_points,
    distinct,
    perimeter_mm,
    signed_area,
    smooth,
)

# How far the smooth curve may stray from the outline, of small frags a part of the root of
# their area; and how many points a thumb can manage.
STRAY_MM: Final = 0.2
STRAY_SHARE: Final = 0.02
FIRST: Final = 8
MOST: Final = 40
SPACING_MM: Final = 0.25
# No two points stand nearer than this part of the way around.
NEAREST: Final = 60


def handles_of(outline_mm: ArrayLike, *, most: int = MOST) -> Points:
    """Return few points whose smooth curve follows an outline.

    Begins with some points evenly around, and adds the one from which the curve strays most
    until it strays no further than it may.
    Args: n × 2 in mm; how many points there may be.
    """
    dense = resampled(distinct(as_points(outline_mm)))
    stray_mm = min(STRAY_MM, STRAY_SHARE * math.sqrt(area_mm2(dense)))
    chosen = sorted({round(place) for place in np.linspace(0, len(dense), FIRST, endpoint=False)})
    while len(chosen) < most:
        away = strays(dense, smooth(dense[chosen], spacing_mm=SPACING_MM))
        away[crowded(chosen, count=len(dense))] = 0
        worst = int(np.argmax(away))
        if away[worst] <= stray_mm:
            break
        chosen = sorted([*chosen, worst])
    return evened(dense[chosen], area=area_mm2(outline_mm))


def crowded(chosen: list[int], *, count: int) -> NDArray[np.bool_]:
    """Tell which of so many places around an outline are too near to chosen ones for a thumb."""
    gaps = np.abs(np.arange(count)[:, None] - np.array(chosen))
    near: NDArray[np.bool_] = np.minimum(gaps, count - gaps).min(axis=1) < max(2, count // NEAREST)
    return near


def evened(handles: Points, *, area: float) -> Points:
    """Move points outwards, all as far, until their curve has an outline's area.

    A curve through few points cuts off what bulges between them.
    """
    curve = smooth(handles, spacing_mm=SPACING_MM / 4)
    outwards = (area - area_mm2(curve)) / perimeter_mm(curve)
    along = np.roll(handles, -1, axis=0) - np.roll(handles, 1, axis=0)
    turn = 1 if signed_area(handles) > 0 else -1
    normals = turn * np.column_stack([along[:, 1], -along[:, 0]])
    return np.asarray(handles + outwards * normals / np.hypot(*along.T)[:, None])


def resampled(points: Points) -> Points:
    """Return points about every quarter of a millimetre along an outline."""
    closed = np.vstack([points, points[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(FIRST * 4, round(perimeter_mm(points) / SPACING_MM))
    places = np.linspace(0, along[-1], count, endpoint=False)
    return np.column_stack([np.interp(places, along, closed[:, axis]) for axis in (0, 1)])


def strays(points: Points, curve: Points) -> Points:
    """Return how far each point lies from a closed polygon."""
    start, along = curve, np.roll(curve, -1, axis=0) - curve
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    gap = points[:, None] - start
    share = np.clip((gap * along).sum(axis=2) / square, 0, 1)
    return np.asarray(np.hypot(*np.moveaxis(gap - share[:, :, None] * along, 2, 0)).min(axis=1))
