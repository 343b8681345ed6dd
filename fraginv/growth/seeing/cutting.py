"""Cutting a coral out of what is around it, beginning with what was tapped.

Source: Rother, Kolmogorov and Blake, GrabCut, ACM Transactions on Graphics 23 (2004), as
OpenCV has it, in the colours of CIE Lab. What it begins with was tried on photos drawn by
``tests/growth/scenes``: a disc of 4 mm, and another beginning where that shows no border.
"""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from fraginv.growth.seeing.patches import PX_PER_MM, SIDE_MM, SIDE_PX, Colour, Mask

Lab = NDArray[np.float32]
# What is certain: a disc around the tap, and the margin of the patch.
CERTAIN_MM, MARGIN_MM = 1.2, 1.0
FIRST_MM, FIRST_ROUNDS = 4.0, 5
LARGER_MM, LARGER_ROUNDS = 7.5, 2
GROWN_MM, GROWN_ROUNDS = 2.0, 3
# What is cut out from a smaller disc, where a plug's rim was found: so many parts of it.
SMALLER_MM, SMALLER_SHARES = 2.2, (0.08, 0.6)
# Where colours beyond the border are as near as this to those of the middle, it is none.
LEAST_CONTRAST: Final = 13.0
# Below this it is a shade of the ground, and nothing to show.
LEAST_SHOWN: Final = 9.5
LEAST_MM2, MOST_MM2 = 15.0, 1200.0
# What is tapped is ground where what is like it, in one piece, has so much of the patch's rim.
# In Lab; corals of our drawn photos reach none of it.
ALIKE, GROUND_AROUND, GROUND_COLOURS, COARSE = 6.0, 0.5, 3, 4
OPENED_MM: Final = 0.25
MIDDLE_MM, SOFT_MM, COLOURS = 2.5, 0.3, 6
STRIP_FROM_MM, STRIP_MM = 0.25, 0.9
MIDDLE: Final = (SIDE_PX // 2, SIDE_PX // 2)
SEED: Final = 1


def cut_out(pixels: Colour, *, has_glare: bool = False) -> Mask:
    """Return 1 where the coral in the middle of a patch (n × n × 3, RGB) is; all 0 for none.

    Args: ``has_glare`` says that a lamp is mirrored in it, whose white spoils the colours that
        a border is judged by.
    """
    soft = softened(pixels)
    if is_ground(soft):
        return np.zeros((SIDE_PX, SIDE_PX), np.uint8)
    lab = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2LAB), np.uint8)
    first = grabbed(lab, disc(FIRST_MM), rounds=FIRST_ROUNDS)
    if is_too_large(first):
        return np.zeros_like(first)
    inner, outer = contrast(soft, first)
    if outer >= LEAST_CONTRAST and is_likely(first):
        return first
    other = another(lab, first)
    other_inner, other_outer = contrast(soft, other)
    if is_likely(other) and other_outer - other_inner > outer - inner:
        first, outer = other, other_outer
    return first if has_glare or outer >= LEAST_SHOWN else np.zeros_like(first)


def cut_within(pixels: Colour, rim: Mask) -> Mask:
    """Return 1 where a coral is that stands on a plug; where there is none, what was found.

    Args: the patch (n × n × 3, RGB), and what was found in it, which may be the plug.
    """
    lab = np.asarray(cv2.cvtColor(pixels, cv2.COLOR_RGB2LAB), np.uint8)
    smaller = grabbed(lab, disc(SMALLER_MM), rounds=FIRST_ROUNDS)
    least, most = SMALLER_SHARES
    is_within = least <= smaller.sum() / max(1, int(rim.sum())) <= most
    return smaller if is_within and is_likely(smaller) else rim


def another(lab: Colour, first: Mask) -> Mask:
    """Return what is found from around a first find, or from a larger disc where it is none."""
    if is_likely(first):
        return grabbed(lab, cv2.dilate(first, round_brush(GROWN_MM)), rounds=GROWN_ROUNDS)
    return grabbed(lab, disc(LARGER_MM), rounds=LARGER_ROUNDS)


def is_ground(soft: Lab) -> bool:
    """Tell whether what was tapped is what the coral would stand on: too large, or on all sides.

    Cutting that out would take long, and find nothing. Looked at in a smaller copy.
    """
    small = np.ascontiguousarray(soft[::COARSE, ::COARSE])
    middle = disc(MIDDLE_MM)[::COARSE, ::COARSE] > 0
    colours = colours_of(small[middle], count=GROUND_COLOURS)
    away = np.linalg.norm(small[:, :, None] - colours, axis=3).min(axis=2)
    _, pieces = cv2.connectedComponents((away < ALIKE).astype(np.uint8), connectivity=4)
    sizes = np.bincount(pieces[middle], minlength=2)
    piece = pieces == 1 + int(sizes[1:].argmax())
    edge = round(2 * MARGIN_MM * PX_PER_MM / COARSE)
    sides = (piece[:edge], piece[-edge:], piece[:, :edge], piece[:, -edge:])
    around = float(np.mean([side.mean() for side in sides]))
    return bool(around > GROUND_AROUND or piece.mean() * SIDE_MM**2 > MOST_MM2)


def colours_of(pixels: Lab, *, count: int) -> Lab:
    """Return a few colours (count × 3) that stand for many (n × 3); the same ones each time."""
    cv2.setRNGSeed(SEED)
    enough = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 10, 1.0)
    start = np.empty(0, np.int32)
    _, _, colours = cv2.kmeans(pixels, count, start, enough, 1, cv2.KMEANS_PP_CENTERS)
    return np.asarray(colours, np.float32)


def is_too_large(mask: Mask) -> bool:
    """Tell whether a mask is larger than any coral in this patch can be."""
    return float(mask.sum()) / PX_PER_MM**2 >= MOST_MM2


def is_likely(mask: Mask) -> bool:
    """Tell whether a mask is about as large as corals in this patch can be."""
    return LEAST_MM2 < float(mask.sum()) / PX_PER_MM**2 < MOST_MM2


def grabbed(lab: Colour, probable: NDArray[np.uint8] | cv2.typing.MatLike, *, rounds: int) -> Mask:
    """Cut out what is like a probable part (1) and unlike the rest; what is tapped is certain."""
    mask = np.where(np.asarray(probable) > 0, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    margin = round(MARGIN_MM * PX_PER_MM)
    mask[:margin] = mask[-margin:] = cv2.GC_BGD
    mask[:, :margin] = mask[:, -margin:] = cv2.GC_BGD
    cv2.circle(mask, MIDDLE, round(CERTAIN_MM * PX_PER_MM), cv2.GC_FGD, -1)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    # Its colours begin at random: the same photo is to give the same outline.
    cv2.setRNGSeed(SEED)
    how, before, found = cv2.GC_INIT_WITH_MASK, coral_in(mask), coral_in(mask)
    for _ in range(rounds):
        cv2.grabCut(lab, mask, (0, 0, 0, 0), *models, 1, how)
        how, before, found = cv2.GC_EVAL, found, coral_in(mask)
        if is_too_large(found) or np.array_equal(found, before):
            break
    return one_piece(found)


def coral_in(mask: Mask) -> Mask:
    """Return 1 where a mask as GrabCut has it is coral, certainly or probably."""
    return np.asarray((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD), np.uint8)


def one_piece(mask: Mask) -> Mask:
    """Return the piece in the middle without thin threads, and with its holes filled."""
    opened = cv2.morphologyEx(mask, cv2.MORPH_OPEN, round_brush(OPENED_MM))
    _, pieces = cv2.connectedComponents(opened, connectivity=4)
    number = pieces[MIDDLE]
    whole = np.zeros_like(mask)
    if number:
        piece = (pieces == number).astype(np.uint8)
        rims, _ = cv2.findContours(piece, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        cv2.drawContours(whole, rims, -1, 1, -1)
    return whole


def contrast(soft: Lab, mask: Mask) -> tuple[float, float]:
    """Return how far colours within a border and beyond it are from those of the middle.

    Each as the mean distance in Lab to the nearest of a few colours around the tap.
    """
    inside = cv2.distanceTransform(mask, cv2.DIST_L2, 3) / PX_PER_MM
    beyond = cv2.distanceTransform(1 - mask, cv2.DIST_L2, 3) / PX_PER_MM
    last = STRIP_FROM_MM + STRIP_MM
    strips = [(away > STRIP_FROM_MM) & (away <= last) for away in (inside, beyond)]
    middle = soft[(disc(MIDDLE_MM) > 0) & (mask > 0)][::7]
    if len(middle) < COLOURS or not all(strip.any() for strip in strips):
        return 0.0, 0.0
    colours = colours_of(middle, count=COLOURS)
    inner, outer = (
        float(np.linalg.norm(soft[strip][:, None] - colours, axis=2).min(axis=1).mean())
        for strip in strips
    )
    return inner, outer


def softened(pixels: Colour) -> Lab:
    """Return a patch in Lab without its finest grain."""
    soft = cv2.GaussianBlur(pixels, (0, 0), SOFT_MM * PX_PER_MM)
    return np.asarray(cv2.cvtColor(soft, cv2.COLOR_RGB2LAB), np.float32)


def disc(radius_mm: float) -> Mask:
    """Return 1 within a distance of the patch's middle."""
    mask = np.zeros((SIDE_PX, SIDE_PX), np.uint8)
    cv2.circle(mask, MIDDLE, round(radius_mm * PX_PER_MM), 1, -1)
    return mask


def round_brush(radius_mm: float) -> Mask:
    """Return a round brush for growing and opening."""
    side = 2 * round(radius_mm * PX_PER_MM) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side)), np.uint8)
