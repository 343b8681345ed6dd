"""Upright pixels of a picture or a part of it, for reading symbols and measuring."""

from collections.abc import Iterable, Iterator
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.pictures import (
    KEPT_QUALITY,
    UNREADABLE,
    Picture,
    Pixels,
    facts_of,
    open_picture,
    pixels_of,
    to_jpeg,
    to_rgb,
    turned,
)
from fraginv.base.rules.metadata import DAMAGED

MOST_GREY_PIXELS: Final = 2_000_000

# Left, top, right and bottom, in pixels of the upright picture.
Box = tuple[int, int, int, int]


def upright_grey(data: bytes) -> Pixels:
    """Unpack a whole picture in grey, upright.

    Raises: as ``prepare_picture``.
    """
    picture = open_picture(data)
    orientation = facts_of(picture, zone="UTC").orientation
    try:
        picture.draft("L", picture.size)
        return pixels_of(turned(picture.convert("L"), orientation))
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error


def upright_colour(data: bytes, *, box: Box | None = None) -> Pixels:
    """Unpack a picture, or a part of it, in RGB, upright.

    Args: ``box`` as left, top, right and bottom in pixels of the upright picture; what
        lies outside it is left out.
    Raises: as ``prepare_picture``; InputError for a box without pixels.
    """
    picture = upright_rgb(data)
    return pixels_of(picture if box is None else cropped(picture, box))


def cut_out(data: bytes, *, box: Box) -> bytes:
    """Return a part of a picture, upright, as JPEG with nothing but its pixels.

    Args, Raises: as ``upright_colour``.
    """
    (part,) = cut_outs(data, boxes=[box])
    return part


def cut_outs(data: bytes, *, boxes: Iterable[Box]) -> Iterator[bytes]:
    """Yield parts of a picture that is unpacked once; each as ``cut_out`` returns it.

    Raises: as ``upright_colour``.
    """
    plain = upright_rgb(data)
    for box in boxes:
        yield to_jpeg(cropped(plain, box), quality=KEPT_QUALITY)


def upright_rgb(data: bytes) -> Picture:
    """Unpack a picture upright."""
    picture = open_picture(data)
    orientation = facts_of(picture, zone="UTC").orientation
    try:
        picture.load()
        return turned(to_rgb(picture), orientation)
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error


def cropped(picture: Picture, box: Box) -> Picture:
    """Return a part of a picture; what lies outside it is left out."""
    left, top, right, bottom = box
    inside = (max(0, left), max(0, top), min(picture.width, right), min(picture.height, bottom))
    if inside[0] >= inside[2] or inside[1] >= inside[3]:
        raise InputError("This part lies outside the picture. Choose a part within it.")
    return picture.crop(inside)


def grey_picture(data: bytes) -> tuple[bytes, int, int]:
    """Return the grey pixels of a small picture, row by row from the top, its width and height.

    For reading symbols in what a camera sees; nothing of it is kept.
    Raises: as ``inspect_picture``, and InputError for one that is too large to be read at once.
    """
    picture = open_picture(data)
    if picture.width * picture.height > MOST_GREY_PIXELS:
        raise InputError("This picture is too large to be read at once. Send a smaller one.")
    try:
        picture.draft("L", picture.size)
        grey = picture.convert("L")
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error
    return grey.tobytes(), grey.width, grey.height
