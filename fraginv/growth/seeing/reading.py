"""Reading every label in a photograph: all at once, then what is small, soft or fouled.

Only codes of ours are taken: their check character is right, and they stand alone or at the
end of a label's address, on whichever host. What other systems print is passed over.
"""

import re
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.base.symbols import Reading, read_symbols
from fraginv.growth.seeing.regions import Corners, Grey, Region, symbol_like

# A code alone, as rolls of blank labels may carry it, or the address that a label opens.
OURS: Final = re.compile(r"(?:HTTPS?://[^/?#\s]+/T/)?([0-9A-Z]{7})/?", re.IGNORECASE)
MARGIN: Final = 0.16
# A symbol of version 2 with its quiet zone has so many modules along a side.
MODULES: Final = 33
MOST_ZOOM: Final = 3.0
# Pixels of all attempts together, a sixth of a second or so: no picture takes longer.
MOST_PIXELS: Final = 40_000_000
# What looks like words rather than a symbol is not worth more.
WORDY_ATTEMPTS: Final = 3
Change = Callable[[Grey, float], Grey]


@dataclass(frozen=True, slots=True)
class Label:
    """A label that was read in a photograph.

    ``corners`` are the symbol's outer ones in pixels, 4 × 2, clockwise from its own top
    left; ``version`` and ``level`` those of the symbol; ``times`` how often the same code
    was seen, in different places.
    """

    code: str
    text: str
    corners: Corners
    version: int
    level: str
    times: int = 1

    @property
    def side_px(self) -> float:
        """Return how long the symbol's sides are, on the average."""
        return float(np.linalg.norm(self.corners - np.roll(self.corners, 1, axis=0), axis=1).mean())


@dataclass(frozen=True, slots=True)
class Attempt:
    """A part of a photograph, changed; how far it is enlarged, and its corner in pixels."""

    grey: Grey
    zoom: float
    corner: tuple[int, int]

    def labels(self) -> list[Label]:
        """Return the labels that are read in it, where they lie in the photograph."""
        return [
            replace(label, corners=(label.corners + 0.5) / self.zoom - 0.5 + self.corner)
            for label in labels_in(self.grey)
        ]


def read_labels(grey: Grey) -> list[Label]:
    """Return the labels in a photograph h × w of 8-bit grey, each code once.

    All of it is read as it is; what still looks like a symbol then is enlarged, its light
    evened out and cut at several thresholds, until it is read or nothing is left to try.
    """
    found = labels_in(grey)
    regions = symbol_like(grey, read=[label.corners for label in found])
    pending = deque((region, attempts(grey, region)) for region in regions)
    pixels = MOST_PIXELS
    while pending and pixels > 0:
        region, ways = pending.popleft()
        attempt = next(ways, None)
        if attempt is None or any(is_within(label.corners, region) for label in found):
            continue
        pixels -= attempt.grey.size
        found += attempt.labels()
        pending.append((region, ways))
    return merged(found)


def labels_in(grey: Grey) -> list[Label]:
    """Return the labels that are read in a picture as it is."""
    height, width = grey.shape
    pixels = np.ascontiguousarray(grey).data
    readings = read_symbols(pixels, width=width, height=height)
    return [label for label in map(label_of, readings) if label is not None]


def label_of(reading: Reading) -> Label | None:
    """Return the label that a symbol belongs to, or None for what is not ours."""
    code = own_code(reading.text)
    if code is None:
        return None
    corners = np.array(reading.corners, dtype=np.float64)
    return Label(code, reading.text, corners, reading.version, reading.level)


def own_code(text: str) -> str | None:
    """Return the code that a symbol's text carries, or None where it is none of ours."""
    found = OURS.fullmatch(text.strip())
    if found is None:
        return None
    try:
        code = read_code(found[1])
    except CodeError:
        return None
    return code if code == found[1].upper() else None


def attempts(grey: Grey, region: Region) -> Iterator[Attempt]:
    """Yield a region changed in one way after the other.

    In the order in which each reads most of what those before it left unread.
    """
    wider = region.wider(grey, by=MARGIN)
    part = wider.of(grey)
    enlarged_to: dict[int, Grey] = {}
    for wanted, change in WAYS[: WORDY_ATTEMPTS if region.is_wordy else None]:
        zoom = min(MOST_ZOOM, max(1.0, wanted / region.side))
        if wanted not in enlarged_to:
            enlarged_to[wanted] = enlarged(part, zoom=zoom)
        changed = change(enlarged_to[wanted], zoom * region.side / MODULES)
        yield Attempt(changed, zoom, (wider.left, wider.top))


def enlarged(part: Grey, *, zoom: float) -> Grey:
    """Return a part enlarged smoothly."""
    large = cv2.resize(part, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_CUBIC)
    return np.asarray(large, np.uint8)


def as_it_is(large: Grey, module: float) -> Grey:
    """Return a part unchanged."""
    return large


def evened(large: Grey, module: float) -> Grey:
    """Return a part in which paper is equally light everywhere, whatever lies on it."""
    width = round(3 * module) | 1
    paper = cv2.morphologyEx(large, cv2.MORPH_CLOSE, np.ones((width, width), np.uint8))
    soft = cv2.GaussianBlur(paper, (0, 0), module)
    return np.asarray(cv2.divide(large, soft, scale=230), np.uint8)


def cut_evened(large: Grey, module: float) -> Grey:
    """Return what is darker than two thirds of the paper around it as black."""
    return black_below(evened(large, module), 150)


def cut_low(large: Grey, module: float) -> Grey:
    """Return what lies in the darkest third between ink and paper as black."""
    dark, light = np.quantile(large[::2, ::2], (0.05, 0.95))
    return black_below(large, dark + 0.3 * (light - dark))


def cut_lower(large: Grey, module: float) -> Grey:
    """Return what lies well below the best division between dark and light as black."""
    best, _ = cv2.threshold(large, 0, 255, cv2.THRESH_OTSU)
    return black_below(large, best - 50)


def cut_near(below: int, *, modules: float = 3) -> Change:
    """Return a change: black is what is so many levels darker than what lies around."""

    def change(large: Grey, module: float) -> Grey:
        width = round(modules * module) | 1
        around = cv2.blur(large, (width, width)).astype(np.int16)
        return np.where(large < around - below, 0, 255).astype(np.uint8)

    return change


def sharpened(large: Grey, module: float) -> Grey:
    """Return a part with its edges made steeper."""
    soft = cv2.GaussianBlur(large, (0, 0), max(1.0, 0.3 * module))
    return np.asarray(cv2.addWeighted(large, 2.5, soft, -1.5, 0), np.uint8)


def black_below(large: Grey, level: float) -> Grey:
    """Return what is darker than a level as black, the rest as white."""
    return np.asarray(cv2.threshold(large, level, 255, cv2.THRESH_BINARY)[1], np.uint8)


# To so many pixels the shorter side is brought, and how it is changed then.
WAYS: Final[Sequence[tuple[int, Change]]] = (
    (230, cut_low),
    (230, cut_near(0, modules=5)),
    (330, cut_near(20)),
    (330, cut_near(0)),
    (330, cut_near(10)),
    (330, as_it_is),
    (230, cut_evened),
    (490, cut_near(0, modules=5)),
    (230, cut_lower),
    (330, evened),
    (330, cut_near(-6)),
    (330, cut_low),
    (330, cut_near(20, modules=5)),
    (330, sharpened),
    (490, cut_lower),
)


def is_within(corners: Corners, region: Region) -> bool:
    """Tell whether a symbol's middle lies in a region."""
    x, y = corners.mean(axis=0)
    return bool(region.left <= x <= region.right and region.top <= y <= region.bottom)


def merged(labels: Sequence[Label]) -> list[Label]:
    """Return each code once, where it is largest, and how often it was seen."""
    kept: dict[str, Label] = {}
    for label in sorted(labels, key=lambda label: -label.side_px):
        first = kept.setdefault(label.code, label)
        if first is not label and is_apart(first, label):
            kept[label.code] = replace(first, times=first.times + 1)
    return [kept[code] for code in dict.fromkeys(label.code for label in labels)]


def is_apart(one: Label, other: Label) -> bool:
    """Tell whether two readings are of two symbols, not of one that was read twice."""
    between = np.linalg.norm(one.corners.mean(axis=0) - other.corners.mean(axis=0))
    return bool(between > 0.5 * one.side_px)
