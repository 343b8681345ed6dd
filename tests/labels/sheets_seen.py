"""A printed page in grey pixels, measured in millimetres: where ink begins and what is dark."""

from dataclasses import dataclass

import numpy as np
import pypdfium2
from numpy.typing import NDArray

from fraginv.base.rules.card import Box

MM_PER_POINT = 25.4 / 72


@dataclass(frozen=True)
class Seen:
    """A page's darkness, from 0 (bare paper) to 1, and pixels to a millimetre each way.

    A page is stretched over whole pixels, so the two differ by a trace.
    """

    dark: NDArray[np.float64]
    across: float
    down: float

    def part(self, box: Box) -> NDArray[np.float64]:
        """Return the pixels that lie within a rectangle in mm of the page."""
        rows = slice(round(box.top_mm * self.down), round(box.bottom_mm * self.down))
        return self.dark[rows, round(box.left_mm * self.across) : round(box.right_mm * self.across)]

    def ink_from(self, box: Box) -> float:
        """Return where ink begins that reaches to a rectangle's right edge, in mm of the page."""
        left, right = round(box.left_mm * self.across), round(box.right_mm * self.across)
        profile = self.part(box).mean(axis=0)
        assert profile[0] < 0.01
        assert profile[-1] > 0.99
        assert right - left == len(profile)
        return float((right - profile.sum()) / self.across)

    def turned(self) -> "Seen":
        """Return the page mirrored so that down becomes across."""
        return Seen(self.dark.T, self.down, self.across)

    def mirrored(self) -> "Seen":
        """Return the page seen from behind: what was at the right is at the left."""
        return Seen(self.dark[:, ::-1], self.across, self.down)

    @property
    def width_mm(self) -> float:
        """Return how wide the page is."""
        return float(self.dark.shape[1] / self.across)


def seen_page(pdf: bytes, *, dpi: int) -> Seen:
    """Draw the only page of a PDF as a printer with so many dots to the inch does."""
    with pypdfium2.PdfDocument(pdf) as document:
        (page,) = document
        width, height = (points * MM_PER_POINT for points in page.get_size())
        bitmap = page.render(scale=dpi / 72, grayscale=True)
        grey = np.array(bitmap.to_numpy(), dtype=np.float64).reshape(bitmap.height, bitmap.width)
        bitmap.close()
        page.close()
    return Seen(1 - grey / 255, grey.shape[1] / width, grey.shape[0] / height)


def turned_box(box: Box) -> Box:
    """Return a rectangle on the page that ``Seen.turned`` gives."""
    return Box(box.top_mm, box.left_mm, box.height_mm, box.width_mm)


def edges_mm(seen: Seen, box: Box) -> tuple[float, float, float, float]:
    """Return where a dark frame's left, top, right and bottom outer edges are, in mm of the page.

    Args: where they are looked for; ink is sought from 1.5 mm outside to 1 mm within, over the
        middle eight tenths of each side.
    """
    found = []
    for page, place in ((seen, box), (seen.turned(), turned_box(box))):
        strip = Box(
            place.left_mm - 1.5, place.top_mm + place.height_mm / 10, 2.5, place.height_mm * 0.8
        )
        near = page.ink_from(strip)
        behind = Box(page.width_mm - place.right_mm - 1.5, strip.top_mm, 2.5, strip.height_mm)
        found.append((near, page.width_mm - page.mirrored().ink_from(behind)))
    (left, right), (top, bottom) = found
    return left, top, right, bottom
