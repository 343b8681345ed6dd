"""Which labels of ours a picture that comes in shows, at what cost it takes."""

from collections.abc import Iterable
from typing import Final

import numpy as np

from fraginv.base.pictures import Pixels, PreparedPicture
from fraginv.base.pixels import upright_grey
from fraginv.base.symbols import read_symbols
from fraginv.growth.rules.intake import Read, Seen
from fraginv.growth.seeing.reading import Label, labels_in, read_labels
from fraginv.growth.seeing.regions import Grey, symbol_like

# Of a label that is this large in the small picture, with nothing like another one beside
# it, no neighbour is likely to be so much smaller that it is lost there.
CLEAR_PX_PER_MODULE: Final = 4.0
# Labels of one house, in one picture, differ in size by no more than this.
LIKE: Final = 1.6


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
    """Return how many symbols as large as those that were read can be seen and not be read."""
    sides = [label.side_px for label in labels]
    left = symbol_like(grey, read=[label.corners for label in labels])
    alike = (min(sides) / LIKE, max(sides) * LIKE)
    return sum(not one.is_wordy and alike[0] <= one.side <= alike[1] for one in left)


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
