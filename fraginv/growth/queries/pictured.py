"""A frag's photos as seen from straight above in one scale, with their outlines."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fraginv.base.errors import InputError, NotFound
from fraginv.base.pixels import upright_colour
from fraginv.base.queries.files import read_original
from fraginv.growth.models import Measurement
from fraginv.growth.rules.camera import View
from fraginv.growth.rules.measuring import Height
from fraginv.growth.rules.outlines import FEWEST_POINTS, centroid
from fraginv.growth.rules.overlay import Bar, Shape, bar_for, laid_over, own_shape, side_for
from fraginv.growth.seeing.rectifying import Box, Colour, seen_from_above

MOST_PICTURES: Final = 6
MOST_SIDE_MM: Final = 1_000
GONE: Final = "There is no such picture. Open the page again that led here."


@dataclass(frozen=True)
class Shown:
    """A measurement as a picture: its number, its own outline, and that laid over the others."""

    number: int
    measurement: Measurement
    own: Shape
    over: Shape

    @property
    def is_last(self) -> bool:
        """Tell whether it is the latest, which was not turned."""
        return self.number == 1


@dataclass(frozen=True)
class Pictured:
    """Pictures of one frag, the latest first, all of the same millimetres across."""

    pictures: Sequence[Shown]
    side_mm: int
    bar: Bar


def pictured(rows: Sequence[Measurement]) -> Pictured | None:
    """Return the latest measurements that have an outline as pictures, None where none has.

    Args: rows in order of their days.
    Queries: none.
    """
    drawn = [row for row in rows if len(row.outline_mm) >= FEWEST_POINTS][-MOST_PICTURES:]
    if not drawn:
        return None
    outlines = [row.outline_mm for row in drawn]
    side_mm = side_for(outlines)
    over = laid_over(outlines, side_mm=side_mm)
    pictures = [
        Shown(number, row, own_shape(row.outline_mm, side_mm=side_mm), shape)
        for number, (row, shape) in enumerate(zip(drawn[::-1], over[::-1], strict=True), start=1)
    ]
    return Pictured(pictures, side_mm, bar_for(side_mm))


def picture_from_above(measurement_id: int, *, side_mm: int) -> bytes:
    """Return what a measurement's photo shows around its outline, from straight above, as JPEG.

    Raises: NotFound where there is no such outline or its photo is missing; InputError for a
        side that is no size.
    Queries: 1.
    """
    if not 1 <= side_mm <= MOST_SIDE_MM:
        raise InputError(f"{side_mm} mm: write a side from 1 to {MOST_SIDE_MM} mm.")
    row = (
        Measurement.objects.select_related("photo__file", "photo__part_of__file")
        .filter(pk=measurement_id)
        .first()
    )
    if row is None or len(row.outline_mm) < FEWEST_POINTS:
        raise NotFound(GONE)
    data = read_original((row.photo.part_of or row.photo).file)

    def unpack(box: Box) -> Colour:
        found = upright_colour(data, box=box)
        pixels = np.frombuffer(found.data, np.uint8)
        return np.asarray(pixels.reshape(found.height, found.width, found.channels))

    height = Height(row.height_mm, through_water=row.through_water)
    try:
        return seen_from_above(
            unpack,
            View.of_dict(row.pose),
            centre_mm=centroid(row.outline_mm),
            side_mm=side_mm,
            height_mm=height.seen_mm,
        )
    except (KeyError, TypeError, ValueError) as error:
        raise NotFound(GONE) from error
