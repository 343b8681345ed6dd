"""Where in a photo the frag stands, for want of a tap: what is neither paper nor ground."""

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from fraginv.base.rules.card import WINDOW
from fraginv.growth.rules.camera import Points, Scale, View

Colour = NDArray[np.uint8]
Field = NDArray[np.float32]

PX_PER_MM: Final = 3.0
# Around a label, which may be four symbols wide, its frag stands within so many sides of the
# symbol, or so many mm.
AROUND: Final = 5.0
LEAST_AROUND_MM: Final = 45.0
# Frags are about as wide as this; what is smaller is a speck.
SPREAD_MM: Final = 2.5
# A symbol with its quiet zone, frame and a little more, in sides of the symbol.
LABEL: Final = 0.25
# In Lab, a place is the frag's where it is so much unlike paper and ground, and any other place
# farther off than this is less so by this share. Without a frag, 3 was the most.
LEAST_UNLIKE, ELSEWHERE_MM, ELSEWHERE = 8.0, 25.0, 0.6


def place_of_frag(
    colour: Colour, view: View, *, symbol_mm: float, height_mm: float
) -> Points | None:
    """Return where the frag likely stands, in pixels of the photo: what a tap would have said.

    None where that is not clear.

    On the card that is the window's middle. Beside a label it is where colour is most unlike
    both the paper, which is white, and the ground, which is what there is most of.

    Args: the upright photo h × w × 3 (RGB); the label's symbol in mm; how high the frag's
        widest contour stands.
    """
    if view.scale == Scale.CARD:
        return np.asarray(view.to_pixels([WINDOW.centre], height_mm)[0])
    reach = max(AROUND * symbol_mm, LEAST_AROUND_MM)
    low = symbol_mm / 2 - reach
    flat, inside = rectified(colour, view, low_mm=low, side_mm=2 * reach, height_mm=height_mm)
    strange = unlikeness(flat, paper=paper_of(colour, view, symbol_mm=symbol_mm), inside=inside)
    strange[label_box(low, symbol_mm, strange.shape)] = 0
    spread = SPREAD_MM * PX_PER_MM
    strange = np.asarray(cv2.GaussianBlur(strange, (0, 0), spread), np.float32)
    row, column = np.unravel_index(int(strange.argmax()), strange.shape)
    if not is_clear(strange, at=(int(row), int(column))):
        return None
    return np.asarray(
        view.to_pixels([[low + column / PX_PER_MM, low + row / PX_PER_MM]], height_mm)[0]
    )


def is_clear(strange: Field, *, at: tuple[int, int]) -> bool:
    """Tell whether the strangest place (row, column) is strange enough, and the only one."""
    most = float(strange[at])
    elsewhere = strange.copy()
    cv2.circle(elsewhere, at[::-1], round(ELSEWHERE_MM * PX_PER_MM), 0.0, -1)
    return most >= LEAST_UNLIKE and float(elsewhere.max()) < ELSEWHERE * most


def rectified(
    colour: Colour, view: View, *, low_mm: float, side_mm: float, height_mm: float
) -> tuple[Field, NDArray[np.bool_]]:
    """Return a square of the plane at a height as seen from above, and where the photo has it."""
    count = int(side_mm * PX_PER_MM)
    to_mm = np.array([[1 / PX_PER_MM, 0, low_mm], [0, 1 / PX_PER_MM, low_mm], [0, 0, 1]])
    matrix = view.homography(height_mm) @ to_mm
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    flat = cv2.warpPerspective(colour, matrix, (count, count), flags=flags)
    whole = np.full(colour.shape[:2], 255, np.uint8)
    inside = cv2.warpPerspective(whole, matrix, (count, count), flags=flags)
    return np.asarray(flat, np.float32), np.asarray(inside > 0)


def paper_of(colour: Colour, view: View, *, symbol_mm: float) -> Field:
    """Return the colour of the paper: that of the quiet zone around the symbol."""
    out = 2.0 / 25 * symbol_mm
    along = np.linspace(0, symbol_mm, 9)
    sides = [[(x, -out), (x, symbol_mm + out), (-out, x), (symbol_mm + out, x)] for x in along]
    places = np.rint(view.to_pixels(np.array(sides).reshape(-1, 2))).astype(int)
    height, width = colour.shape[:2]
    held = (places >= 0).all(axis=1) & (places[:, 0] < width) & (places[:, 1] < height)
    if not held.any():
        return np.full(3, 255, np.float32)
    return np.asarray(np.median(colour[places[held, 1], places[held, 0]], axis=0), np.float32)


def unlikeness(flat: Field, *, paper: Field, inside: NDArray[np.bool_]) -> Field:
    """Return how far each place's hue and strength are from paper and from the ground."""
    balanced = np.clip(flat / np.maximum(paper, 1) * 220, 0, 255) / np.float32(255)
    lab = np.asarray(cv2.cvtColor(balanced.astype(np.float32), cv2.COLOR_RGB2Lab))[..., 1:]
    if not inside.any():
        return np.zeros(lab.shape[:2], np.float32)
    ground = np.median(lab[inside], axis=0)
    from_paper, from_ground = np.hypot(*np.moveaxis(lab, 2, 0)), np.hypot(*(lab - ground).T).T
    return np.where(inside, np.minimum(from_paper, from_ground), 0).astype(np.float32)


def label_box(low_mm: float, symbol_mm: float, shape: tuple[int, ...]) -> tuple[slice, slice]:
    """Return where the symbol with its quiet zone lies in the rectified square."""
    first = max(0, int((-LABEL * symbol_mm - low_mm) * PX_PER_MM))
    last = min(shape[0], int(((1 + LABEL) * symbol_mm - low_mm) * PX_PER_MM))
    return slice(first, last), slice(first, last)
