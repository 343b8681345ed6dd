"""An outline suggested from one tap; a person looks at it before it counts."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import ArrayLike

from fraginv.base.rules.card import WINDOW
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Points, Scale, View
from fraginv.growth.rules.outlines import FEWEST_POINTS, area_mm2, simplify
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.cutting import cut_out, cut_within
from fraginv.growth.seeing.patches import PX_PER_MM, SIDE_PX, Colour, Mask, Patch, patch_around
from fraginv.growth.seeing.prints import covers_label, print_tapped

# An outline is smoothed over about so much, and no two of its points are farther from each
# other than this before it is simplified.
SMOOTHED_MM: Final = 0.25
# What lies outside a patch is no farther than this to those who fill it.
FARTHEST_PX: Final = 10_000.0
NOTHING: Final = np.empty((0, 2))
# A plug's rim is a circle to so many parts of its radius, for so much of its length, and no
# smaller than the smallest plugs: common practice, no source.
ROUND_TO, ROUND_SHARE, LEAST_PLUG_MM = 0.025, 0.75, 14.0
LEAST_PLUG_BY_HAND_MM: Final = 5.0
PLUG_AREA_WITHIN: Final = 0.08


@dataclass(frozen=True)
class Suggested:
    """An outline in pixels of the photo, n × 2, empty where none was found, and its doubts."""

    outline_px: Points
    doubts: tuple[Problem, ...] = ()


def suggest_outline(
    colour: Colour,
    view: View,
    *,
    tap_px: tuple[float, float] | None,
    height_mm: float,
    plug_mm: float | None = None,
    labels_px: Sequence[ArrayLike] = (),
) -> Suggested:
    """Suggest the outline of the coral that was tapped.

    Args: the upright photo h × w × 3 in RGB; where it was tapped, in pixels, None for the
        middle of the card's window or of the photo; the height as the camera sees it, and
        the plug's diameter where it is known, in mm; the corners (4 × 2, in pixels) of the
        symbols that were read.
    """
    if tap_px is not None:
        tapped = print_tapped(colour, view, tap_px=tap_px, height_mm=height_mm, labels_px=labels_px)
        if tapped is not None:
            return Suggested(NOTHING, (tapped,))
    middle = tapped_mm(colour, view, tap_px=tap_px, height_mm=height_mm)
    patch = patch_around(colour, view, middle_mm=middle, height_mm=height_mm)
    if patch is None:
        return Suggested(NOTHING, (problems.NOTHING_FOUND,))
    mask = cut_out(patch.plain, has_glare=bool(patch.glare.any()))
    rim = rim_of(mask)
    least = least_plug(view)
    if len(rim) >= FEWEST_POINTS and is_plug(rim / PX_PER_MM, plug_mm=plug_mm, least_mm=least):
        mask = cut_within(patch.plain, mask)
        rim = rim_of(mask)
    if len(rim) < FEWEST_POINTS:
        return Suggested(NOTHING, (problems.NOTHING_FOUND,))
    outline = patch.to_photo(simplify(rim / PX_PER_MM) * PX_PER_MM)
    if covers_label(outline, labels_px):
        return Suggested(NOTHING, (problems.THAT_IS_LABEL,))
    return Suggested(outline, doubts_of(mask, rim, patch=patch, plug_mm=plug_mm))


def tapped_mm(
    colour: Colour, view: View, *, tap_px: tuple[float, float] | None, height_mm: float
) -> Points:
    """Return where in the plane at a height the middle of a suggestion lies, in mm."""
    if tap_px is None and view.scale == Scale.CARD:
        return np.array(WINDOW.centre)
    height, width = colour.shape[:2]
    tap = tap_px or ((width - 1) / 2, (height - 1) / 2)
    return np.asarray(view.to_plane([tap], height_mm)[0])


def rim_of(mask: Mask) -> Points:
    """Return the rim of a mask in its pixels, finer than they are; empty where there is none.

    Contours run through the middles of the outermost pixels, half a pixel too far inside:
    each point is moved to where the softened mask falls to a half.
    """
    rims, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not rims:
        return NOTHING
    points = max(rims, key=cv2.contourArea).reshape(-1, 2)
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), SMOOTHED_MM * PX_PER_MM)
    steep = np.stack([cv2.Sobel(soft, -1, 1, 0), cv2.Sobel(soft, -1, 0, 1)], axis=-1) / 8
    x, y = points[:, 0], points[:, 1]
    slope, level = steep[y, x], soft[y, x]
    size = np.maximum(np.linalg.norm(slope, axis=1), 0.02)
    away = np.clip((level - 0.5) / size, -2, 2) / size
    return np.asarray(points - slope * away[:, None], np.float64)


def doubts_of(
    mask: Mask, rim: Points, *, patch: Patch, plug_mm: float | None
) -> tuple[Problem, ...]:
    """Return what may be wrong with a suggestion."""
    said = []
    wider = cv2.dilate(mask, np.ones((5, 5), np.uint8)) > 0
    if (wider & patch.outside).any() or rim.min() <= PX_PER_MM + 1 or rim.max() >= edge():
        said.append(problems.OUTLINE_AT_EDGE)
    if is_plug(rim / PX_PER_MM, plug_mm=plug_mm, least_mm=least_plug(patch.view)):
        said.append(problems.OUTLINE_IS_PLUG)
    return (*said, *glare_on(mask, patch=patch))


def glare_within(
    colour: Colour, view: View, *, outline_px: ArrayLike, height_mm: float
) -> tuple[Problem, ...]:
    """Return what is to be said of lamps that are mirrored inside an outline of a photo.

    Args: the upright photo h × w × 3 in RGB; n × 2 pixels; the height as the camera sees it.
    """
    outline = view.to_plane(outline_px, height_mm)
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2
    patch = patch_around(colour, view, middle_mm=middle, height_mm=height_mm)
    if patch is None:
        return ()
    mask = np.zeros((SIDE_PX, SIDE_PX), np.uint8)
    inside = ((outline - patch.low_mm) * PX_PER_MM).clip(-FARTHEST_PX, FARTHEST_PX)
    return glare_on(
        np.asarray(cv2.fillPoly(mask, [np.round(inside).astype(np.int32)], 1), np.uint8),
        patch=patch,
    )


def glare_on(mask: Mask, *, patch: Patch) -> tuple[Problem, ...]:
    """Return what is to be said of lamps that are mirrored on a part of a patch."""
    share = float(patch.glare[mask > 0].mean()) if mask.any() else 0.0
    return (problems.glare(share),) if share > problems.LARGEST_GLARE else ()


def edge() -> float:
    """Return from where on a patch's pixels count as its margin, on the right and below."""
    return SIDE_PX - PX_PER_MM - 2


def least_plug(view: View) -> float:
    """Return how large the smallest plugs are, in mm; a length set by hand says little of it."""
    return LEAST_PLUG_BY_HAND_MM if view.scale == Scale.HAND else LEAST_PLUG_MM


def is_plug(rim_mm: Points, *, plug_mm: float | None, least_mm: float = LEAST_PLUG_MM) -> bool:
    """Tell whether an outline may be a plug's rim: round, and as large as one.

    A rim lies lower than the coral and looks up to a tenth smaller than it is.
    """
    area = area_mm2(rim_mm)
    diameter = math.sqrt(4 * area / math.pi)
    if plug_mm is not None and abs(diameter / plug_mm - 0.97) > PLUG_AREA_WITHIN / 2:
        return False
    # The circle nearest to the points, by linear least squares (Kåsa 1976).
    system = np.column_stack([rim_mm, np.ones(len(rim_mm))])
    found, *_ = np.linalg.lstsq(system, (rim_mm**2).sum(axis=1), rcond=None)
    away = np.hypot(*(rim_mm - found[:2] / 2).T)
    radius = float(np.median(away))
    is_round = np.mean(np.abs(away / radius - 1) < ROUND_TO) > ROUND_SHARE
    return bool(diameter >= least_mm and is_round)
