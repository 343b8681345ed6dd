"""Finding the measuring card's markers in a photograph."""

from dataclasses import dataclass
from functools import cache
from typing import Final

import cv2
import numpy as np

from fraginv.base.rules.card import MARKERS, PATTERN_BITS, Marker
from fraginv.growth.rules.camera import Points, through
from fraginv.growth.seeing.edges import Grey

# Markers are sought in a copy whose longer side has so many pixels.
SEEK_PX: Final = 1600
# Bits that may be read wrong; markers differ in at least 14.
MOST_WRONG_BITS: Final = 3
# How far corners may lie from where the others put them, as a share of a marker's side.
FARTHEST: Final = 0.12


@dataclass(frozen=True)
class FoundMarker:
    """One marker and its corners in pixels, clockwise from its own top left."""

    marker: Marker
    corners: Points


@cache
def detector() -> cv2.aruco.ArucoDetector:
    """Return OpenCV's detector for the card's own patterns."""
    lists = []
    for marker in MARKERS:
        light = [[bit != "#" for bit in row] for row in marker.bits]
        lists.append(cv2.aruco.Dictionary.getByteListFromBits(np.array(light, dtype=np.uint8)))
    dictionary = cv2.aruco.Dictionary(np.concatenate(lists), PATTERN_BITS, MOST_WRONG_BITS)
    parameters = cv2.aruco.DetectorParameters()
    parameters.errorCorrectionRate = 1.0
    parameters.minMarkerPerimeterRate = 0.02
    return cv2.aruco.ArucoDetector(dictionary, parameters)


def find_markers(grey: Grey) -> list[FoundMarker]:
    """Return the card's markers that are seen, each once, those that fit together."""
    seen = sought(grey, shrink=max(1.0, max(grey.shape) / SEEK_PX))
    return fitting_together(seen)


def sought(grey: Grey, *, shrink: float) -> list[FoundMarker]:
    """Return what the detector finds in a copy that is smaller by a factor."""
    height, width = grey.shape
    size = (round(width / shrink), round(height / shrink))
    small = grey if shrink == 1 else cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    quads, numbers, _ = detector().detectMarkers(small)
    if numbers is None:
        return []
    ratio = np.array([width / size[0], height / size[1]])
    return [
        FoundMarker(
            MARKERS[int(number)], (np.asarray(quad, float).reshape(4, 2) + 0.5) * ratio - 0.5
        )
        for quad, number in zip(quads, numbers.ravel(), strict=True)
        if is_convex(np.asarray(quad, float).reshape(4, 2))
    ]


def is_convex(corners: Points) -> bool:
    """Tell whether four corners turn one way, that of a marker seen from its front."""
    along = np.roll(corners, -1, axis=0) - corners
    after = np.roll(along, -1, axis=0)
    return bool((along[:, 0] * after[:, 1] > along[:, 1] * after[:, 0]).all())


def fitting_together(seen: list[FoundMarker]) -> list[FoundMarker]:
    """Leave out markers that do not lie where the card has them, and doubles.

    The homography that most corners agree with decides.
    """
    if len(seen) < 2:
        return seen
    matrix = card_matrix(seen)
    if matrix is None:
        return []
    fit: dict[int, FoundMarker] = {}
    for found in seen:
        expected = through(matrix, np.array(found.marker.place.corners))
        side = float(np.hypot(*(expected[0] - expected[2])))
        if np.hypot(*(expected - found.corners).T).max() < FARTHEST * side:
            fit[found.marker.number] = found
    return list(fit.values())


def card_matrix(seen: list[FoundMarker]) -> Points | None:
    """Return the homography from the card's mm to pixels that most corners agree with."""
    corners_mm = np.vstack([np.array(found.marker.place.corners) for found in seen])
    corners_px = np.vstack([found.corners for found in seen])
    side = np.median([np.hypot(*(found.corners[0] - found.corners[1])) for found in seen])
    cv2.setRNGSeed(1)
    matrix, _ = cv2.findHomography(corners_mm, corners_px, cv2.RANSAC, max(2.0, 0.08 * float(side)))
    return None if matrix is None else np.asarray(matrix, dtype=np.float64)
