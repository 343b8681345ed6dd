"""Where in a photograph something looks like a label's symbol that nobody has read yet."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
import numpy.typing as npt

Grey = npt.NDArray[np.uint8]
Corners = npt.NDArray[np.float64]
Dark = npt.NDArray[np.bool_]

# Photographs are looked over at these fractions of their size; small ones at the finer too.
COARSE, FINE = 4, 2
SMALL_PIXELS: Final = 3_000_000
# A border is where grey changes by so much, in steps of 255 and in parts of what is around.
LEAST_STEP, LEAST_SHARE = 14, 0.22
AROUND, NEAR, THICK = 31, 9, 5
LEAST_BUSY: Final = 0.62
LEAST_SIDE, LONGEST, MOST_REGIONS = 10, 4.0, 40
# What is read takes its frame and quiet zone along, in sides of the symbol.
TAKEN_SIDES: Final = 1.45
# How often dark and light change across a symbol: a version 2 one about 13 times.
FEWEST_CHANGES, FEWEST_BOTH_WAYS = 6.0, 18.0
LOOKED_AT_PX: Final = 96
DARK_SHARES: Final = (0.24, 0.56)
# Between lines of words there is white; a symbol has dark nearly everywhere, along one axis at
# least. Nine rows (or columns) in ten have more than this share of it.
LEAST_EVERYWHERE: Final = 0.16


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle of whole pixels of the photograph, right and bottom beyond its last ones.

    ``is_wordy`` says that it is rather words than a symbol.
    """

    left: int
    top: int
    right: int
    bottom: int
    is_wordy: bool = False

    @property
    def side(self) -> int:
        """Return the shorter side: that of the symbol, where words stand beside it."""
        return min(self.right - self.left, self.bottom - self.top)

    def of(self, grey: Grey) -> Grey:
        """Return the region's pixels."""
        return grey[self.top : self.bottom, self.left : self.right]

    def wider(self, grey: Grey, *, by: float) -> "Region":
        """Return the region with a margin, in parts of its shorter side, within the picture."""
        height, width = grey.shape
        more = max(8, round(by * self.side))
        return Region(
            max(0, self.left - more),
            max(0, self.top - more),
            min(width, self.right + more),
            min(height, self.bottom + more),
        )


def symbol_like(grey: Grey, *, read: Sequence[Corners]) -> list[Region]:
    """Return what looks like a symbol, the likeliest first, but not more than 40.

    Args: the photograph h × w; the corners (4 × 2) of the symbols that were read already.
    """
    steps = (COARSE, FINE) if grey.size < SMALL_PIXELS else (COARSE,)
    marked = []
    for region in (each for step in steps for each in busy_regions(grey, step=step, read=read)):
        dark = dark_places(region.of(grey))
        likeness = balance(dark)
        if likeness:
            turned = upright(dark, turn_deg=turn_near(region, read))
            marked.append((likeness, replace(region, is_wordy=is_wordy(turned))))
    marked.sort(key=lambda pair: (pair[1].is_wordy, -pair[0]))
    return [region for _, region in marked[:MOST_REGIONS]]


def busy_regions(grey: Grey, *, step: int, read: Sequence[Corners]) -> Iterator[Region]:
    """Yield where dark and light change everywhere, looked at in a smaller copy."""
    height, width = grey.shape
    if min(height, width) < LEAST_SIDE * step:
        return
    size = (width // step, height // step)
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    change = cv2.morphologyEx(small, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    least = np.maximum(LEAST_STEP, LEAST_SHARE * cv2.blur(small, (AROUND, AROUND)))
    busy = (change > least).astype(np.uint8) * 255
    mask = (cv2.blur(busy, (NEAR, NEAR)) > LEAST_BUSY * 255).astype(np.uint8)
    for corners in read:
        middle = corners.mean(axis=0)
        taken = (middle + TAKEN_SIDES * (corners - middle)) / step
        cv2.fillConvexPoly(mask, np.round(taken).astype(np.int32), 0)
    mask = np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((THICK, THICK), np.uint8)))
    _, _, boxes, _ = cv2.connectedComponentsWithStats(mask)
    for left, top, wide, high in boxes[1:, :4].tolist():
        if min(wide, high) >= LEAST_SIDE and max(wide, high) <= LONGEST * min(wide, high):
            yield Region(left * step, top * step, (left + wide) * step, (top + high) * step)


def dark_places(part: Grey) -> Dark:
    """Return where a part is darker than what is around, in a copy of at most 96 pixels."""
    shrink = LOOKED_AT_PX / max(part.shape)
    if shrink < 1:
        part = np.asarray(
            cv2.resize(part, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), np.uint8
        )
    around = (part.shape[1] // 4 | 1, part.shape[0] // 4 | 1)
    return np.asarray(part < cv2.blur(part, around).astype(np.int16) - 4)


def balance(dark: Dark) -> float:
    """Return how alike a part changes across and down; 0 where it changes as no symbol does."""
    across = float(np.median((dark[:, 1:] != dark[:, :-1]).sum(axis=1)))
    down = float(np.median((dark[1:] != dark[:-1]).sum(axis=0)))
    changes = min(across, down) >= FEWEST_CHANGES and across + down >= FEWEST_BOTH_WAYS
    is_like = changes and DARK_SHARES[0] <= dark.mean() <= DARK_SHARES[1]
    return min(across, down) / max(across, down) if is_like else 0.0


def turn_near(region: Region, read: Sequence[Corners]) -> float:
    """Return how far the symbol that was read nearest is turned, in degrees; 0 without one."""
    if not read:
        return 0.0
    middle = ((region.left + region.right) / 2, (region.top + region.bottom) / 2)
    nearest = min(read, key=lambda corners: float(np.hypot(*(corners.mean(axis=0) - middle))))
    x, y = nearest[1] - nearest[0]
    return math.degrees(math.atan2(y, x))


def upright(dark: Dark, *, turn_deg: float) -> Dark:
    """Return a part turned so that the words of labels like the one beside it run across."""
    high, wide = dark.shape
    matrix = cv2.getRotationMatrix2D((wide / 2, high / 2), turn_deg, 1.0)
    turned = cv2.warpAffine(dark.astype(np.uint8), matrix, (wide, high))
    return np.asarray(turned > 0)


def is_wordy(dark: Dark) -> bool:
    """Tell whether white runs right through a part, as it does between lines of words."""
    high, wide = dark.shape
    inner = dark[high // 6 : -(high // 6), wide // 6 : -(wide // 6)]
    shares = (np.quantile(inner.mean(axis=axis), 0.1) for axis in (0, 1))
    return bool(max(shares) < LEAST_EVERYWHERE)
