"""What was tapped, or outlined, and is print instead of a coral: a label, or the measuring card."""

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from fraginv.base.rules.card import CARD_HEIGHT_MM, CARD_WIDTH_MM, LABEL_PLACE, WINDOW, Box
from fraginv.growth.rules import problems
from fraginv.growth.rules.camera import Points, Scale, View, through
from fraginv.growth.rules.problems import Problem
from fraginv.growth.seeing.fitting import homography_of

Colour = NDArray[np.uint8]

# All in sides of a label's symbol, whose top left corner is the origin. Beyond its frame come
# words; between two letters, or across one, there is paper again after so much.
SQUARE: Final = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float64)
FRAME, QUIET, REACH, GAP, STEP = 0.22, 0.08, 4.5, 0.25, 0.02
# Around a tap, so much is paper where it lies between words.
NEAR, NEAR_SHARE = 0.15, 0.35
# In Lab, how far from the paper's colour is still paper: in light, and in the two others.
PAPER_LIGHT, PAPER_HUE = 40.0, 10.0
# An outline that has more of a symbol than this is drawn around its label.
COVERED: Final = 0.15
CARD: Final = Box(0.0, 0.0, CARD_WIDTH_MM, CARD_HEIGHT_MM)
CARD_NEAR_MM, WINDOW_INSET_MM = 2.5, 4.0


def print_tapped(
    colour: Colour,
    view: View,
    *,
    tap_px: tuple[float, float],
    height_mm: float,
    labels_px: Sequence[ArrayLike],
) -> Problem | None:
    """Return what is to be said where a label or the card was tapped; None for anything else.

    Args: the upright photo h × w × 3 (RGB); the corners (4 × 2, in pixels) of the symbols that
        were read in it.
    """
    if view.scale == Scale.CARD:
        below, above = (view.to_plane([tap_px], high)[0] for high in (0.0, height_mm))
        if is_in(WINDOW, below) or is_in(WINDOW, above):
            return None
        if is_in(CARD, below) and not is_in(LABEL_PLACE, below):
            is_card = looks_like_card(colour, view, place=below)
            return problems.THAT_IS_CARD if is_card else None
    is_label = any(is_on_label(colour, corners, tap_px=tap_px) for corners in labels_px)
    return problems.THAT_IS_LABEL if is_label else None


def is_on_label(colour: Colour, corners: ArrayLike, *, tap_px: tuple[float, float]) -> bool:
    """Tell whether a tap lies on a label: in its frame, or on paper that begins there."""
    square = np.asarray(corners, np.float64).reshape(4, 2)
    to_sides, to_pixels = homography_of(square, SQUARE), homography_of(SQUARE, square)
    if to_sides is None or to_pixels is None:
        return False
    away = through(to_sides, [tap_px])[0] - 0.5
    far = float(np.abs(away).max())
    if far <= 0.5 + FRAME:
        return True
    if not far <= REACH:
        return False
    paper = paper_at(colour, through(to_pixels, around_symbol()))
    begun = (0.5 + FRAME) / far
    steps = np.linspace(begun, 1, max(2, round((1 - begun) * far / STEP)))
    on_way = through(to_pixels, 0.5 + steps[:, None] * away)
    is_paper = like_paper(colour, on_way, paper=paper)
    near = through(to_pixels, 0.5 + away + disc_of(NEAR))
    # Never farther from paper than across one letter, up to the tap.
    gaps = np.diff(np.flatnonzero(np.concatenate([[True], is_paper, [True]])))
    is_joined = bool(gaps.max() * STEP <= GAP)
    return is_joined and bool(like_paper(colour, near, paper=paper).mean() >= NEAR_SHARE)


def looks_like_card(colour: Colour, view: View, *, place: Points) -> bool:
    """Tell whether there is much of the card's paper at a place of it (x, y) in mm."""
    inset = np.array(WINDOW.corners) * (1 - 2 * WINDOW_INSET_MM / WINDOW.width_mm)
    inset += np.array(WINDOW.centre) * (2 * WINDOW_INSET_MM / WINDOW.width_mm)
    paper = paper_at(colour, view.to_pixels(inset))
    near = view.to_pixels(place + disc_of(CARD_NEAR_MM))
    return bool(like_paper(colour, near, paper=paper).mean() >= NEAR_SHARE)


def covers_label(outline_px: Points, labels_px: Sequence[ArrayLike]) -> bool:
    """Tell whether an outline (n × 2, in pixels) has a good part of a label's symbol in it."""
    rim = np.asarray(outline_px, np.float32)
    along = np.linspace(0.05, 0.95, 7)
    places = np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2)
    for corners in labels_px:
        to_pixels = homography_of(SQUARE, np.asarray(corners, np.float64).reshape(4, 2))
        seen = [] if to_pixels is None else through(to_pixels, places).tolist()
        within = [cv2.pointPolygonTest(rim, (x, y), False) >= 0 for x, y in seen]
        if within and np.mean(within) > COVERED:
            return True
    return False


def is_in(box: Box, place: Points) -> bool:
    """Tell whether a place (x, y) in mm lies in a box."""
    x, y = place.tolist()
    return bool(box.left_mm <= x <= box.right_mm and box.top_mm <= y <= box.bottom_mm)


def around_symbol() -> Points:
    """Return places in the quiet zone around a symbol, in its sides."""
    along, out = np.linspace(0, 1, 9), QUIET
    sides = [[(x, -out), (x, 1 + out), (-out, x), (1 + out, x)] for x in along]
    return np.array(sides, np.float64).reshape(-1, 2)


def disc_of(radius: float) -> Points:
    """Return places within a distance of the origin, n × 2."""
    along = np.linspace(-radius, radius, 13)
    grid = np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2)
    return np.asarray(grid[np.hypot(*grid.T) <= radius])


def paper_at(colour: Colour, places_px: Points) -> Points:
    """Return the paper's colour in Lab, as most of some places in pixels have it."""
    return np.asarray(np.median(lab_at(colour, places_px), axis=0), np.float64)


def like_paper(colour: Colour, places_px: Points, *, paper: Points) -> NDArray[np.bool_]:
    """Tell of each of some places (n × 2, in pixels) whether it has the paper's colour."""
    away = np.abs(lab_at(colour, places_px) - paper)
    return np.asarray((away[:, 0] <= PAPER_LIGHT) & (np.hypot(*away[:, 1:].T) <= PAPER_HUE))


def lab_at(colour: Colour, places_px: Points) -> Points:
    """Return colours in Lab (n × 3, each to 255) at places in pixels; those outside are black."""
    x, y = places_px.T.astype(np.float32)[:, None]
    seen = cv2.remap(colour, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT)
    return np.asarray(cv2.cvtColor(seen, cv2.COLOR_RGB2LAB)[0], np.float64)
