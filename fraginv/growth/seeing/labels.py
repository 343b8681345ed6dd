"""Which labels of ours a picture that comes in shows, at what cost it takes."""

from collections.abc import Iterable
from typing import Final

import cv2
import numpy as np

from fraginv.base.pictures import Pixels, PreparedPicture
from fraginv.base.pixels import upright_grey
from fraginv.base.rules.card import MARKERS, WINDOW
from fraginv.base.symbols import read_symbols
from fraginv.growth.rules.camera import through
from fraginv.growth.rules.intake import Read, Seen
from fraginv.growth.seeing.markers import card_matrix, find_markers
from fraginv.growth.seeing.reading import Label, labels_in, read_labels
from fraginv.growth.seeing.regions import Corners, Grey, Region, symbol_like

# Of a label that is this large in the small picture, with nothing like another one beside
# it, no neighbour is likely to be so much smaller that it is lost there.
CLEAR_PX_PER_MODULE: Final = 4.0
# Labels of one house, in one picture, differ in size by no more than 1.6; what is left of a
# fouled one may seem smaller, and larger where its words run into it.
LIKE: Final = 2.3
# Of a symbol's borders so much more runs along two directions at right angles than does not;
# words, where such stand, have less than the second.
STRAIGHT, STRAIGHTER = 0.28, 0.5
# Words stand at the right of a symbol, up to so many of its sides from its left.
WORDS_END, WORDS_OVER = 3.4, 0.3


def labels_of_picture(data: bytes, prepared: PreparedPicture) -> Read:
    """Read the labels of a picture, first in the pixels that were unpacked anyway.

    Only where those show one label clearly and nothing like a second is that all; else it
    is read at its full size, with all that helps.
    Args: the picture as it came in, and what was made of it.
    Returns: corners in pixels of the upright picture, pixel centres at whole numbers.
    Raises: InputError as ``upright_grey``.
    """
    scale = prepared.facts.width / prepared.grey.width
    small = grey_of(prepared.grey)
    found = labels_in(small)
    if scale > 1 and is_all(found, small):
        return Read(seen(found, scale=scale))
    full = small if scale == 1 else grey_of(upright_grey(data))
    labels = read_labels(full)
    if not labels:
        return Read(foreign=strange_codes(prepared.grey))
    return Read(seen(labels, scale=1.0), unread=unread_in(full, labels))


def grey_of(pixels: Pixels) -> Grey:
    """Return grey pixels h × w."""
    flat = np.frombuffer(pixels.data, dtype=np.uint8)
    return flat.reshape(pixels.height, pixels.width)


def is_all(found: list[Label], grey: Grey) -> bool:
    """Tell whether one label is seen clearly, and nothing that looks like a second."""
    if len(found) != 1 or px_per_module(found[0]) < CLEAR_PX_PER_MODULE:
        return False
    others = symbol_like(grey, read=[found[0].corners])
    return all(region.is_wordy for region in others)


def unread_in(grey: Grey, labels: list[Label]) -> int:
    """Return how many symbols as large as those that were read can be seen and not be read.

    The words beside a symbol that was read are none, nor are the squares of the measuring
    card and what stands in its window.
    """
    sides = [label.side_px for label in labels]
    alike = (min(sides) / LIKE, max(sides) * LIKE)

    def unread(known: list[Corners]) -> int:
        left = symbol_like(grey, read=known)
        large = (one for one in left if not one.is_wordy and alike[0] <= one.side <= alike[1])
        return sum(
            straightness(one.of(grey)) >= (STRAIGHTER if is_beside(one, labels) else STRAIGHT)
            for one in large
        )

    known = [label.corners for label in labels]
    return unread(known) and unread([*known, *parts_of_card(grey)])


def straightness(part: Grey) -> float:
    """Return how much more of a part's borders runs along two directions at right angles.

    From 0, where they run anywhere as those of polyps and of algae do, to 1. A symbol's run
    along two, whichever way it is turned, however dark it lies and however much is fouled.
    """
    soft = part.astype(np.float32)
    right, down = cv2.Scharr(soft, -1, 1, 0), cv2.Scharr(soft, -1, 0, 1)
    steep = right**2 + down**2
    along = (steep * np.exp(4j * np.arctan2(down, right))).sum()
    return float(abs(along) / max(float(steep.sum()), 1.0))


def is_beside(region: Region, labels: Iterable[Label]) -> bool:
    """Tell whether a region lies where one of some labels has its words."""
    middle = np.array([(region.left + region.right) / 2, (region.top + region.bottom) / 2])
    return any(has_words_at(label.corners, middle) for label in labels)


def has_words_at(corners: Corners, point: Corners) -> bool:
    """Tell whether a point lies to the right of a symbol, no higher and no lower than it is."""
    start, right, _, down = corners
    across, below = np.linalg.solve(np.column_stack([right - start, down - start]), point - start)
    return bool(1 < across < WORDS_END and -WORDS_OVER < below < 1 + WORDS_OVER)


def parts_of_card(grey: Grey) -> list[Corners]:
    """Return where the measuring card's squares and its window lie in pixels; none without it.

    Squares that are hidden are told from those that are seen.
    """
    found = find_markers(grey)
    matrix = card_matrix(found) if found else None
    if matrix is None:
        return [marker.corners for marker in found]
    places = [WINDOW, *(marker.place for marker in MARKERS)]
    return [through(matrix, place.corners) for place in places]


def px_per_module(label: Label) -> float:
    """Return how many pixels a module of a symbol is wide.

    Source: ISO/IEC 18004: version v has 17 + 4 v modules along a side.
    """
    return label.side_px / (17 + 4 * label.version)


def seen(labels: Iterable[Label], *, scale: float) -> tuple[Seen, ...]:
    """Return labels where they lie in a picture that is so much larger."""
    return tuple(
        Seen(
            label.code,
            tuple((float(x), float(y)) for x, y in (label.corners + 0.5) * scale - 0.5),
            label.times,
        )
        for label in labels
    )


def strange_codes(pixels: Pixels) -> int:
    """Return how many symbols can be read at all, where none of them is ours."""
    return len(read_symbols(pixels.data, width=pixels.width, height=pixels.height))
