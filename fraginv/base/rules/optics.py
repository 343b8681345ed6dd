"""What a picture says of the lens it was taken with, and whether that is to be believed."""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Final

LONGEST_FOCAL_35_MM: Final = 300
NO_ZOOM: Final = Decimal("1.01")


class Optics(StrEnum):
    """What a picture says of the camera it came from.

    ``ALTERED`` was zoomed by numbers or cut afterwards, so that its focal length does
    not tell how wide it looks; ``NONE`` names no camera at all, as a screenshot does.
    """

    CAMERA = "camera"
    ALTERED = "altered"
    NONE = "none"


@dataclass(frozen=True)
class Lens:
    """What Exif says of how a picture was taken; None where it does not say.

    ``width`` and ``height`` are those of the picture as it left the camera, in pixels.
    """

    focal_mm: Decimal | None = None
    focal_35_mm: Decimal | None = None
    zoom: Decimal | None = None
    width: int | None = None
    height: int | None = None


def optics_of(lens: Lens, *, width: int, height: int) -> Optics:
    """Tell whether a lens' focal length says how wide a picture looks.

    Args: the picture's own size in pixels, whichever side is up.
    Source: CIPA DC-008, Exif 2.32: PixelXDimension, DigitalZoomRatio; from memory.
    """
    if lens.focal_mm is None and lens.focal_35_mm is None:
        return Optics.NONE
    zoomed = lens.zoom is not None and lens.zoom > NO_ZOOM
    return Optics.ALTERED if zoomed or is_cut(lens, width, height) else Optics.CAMERA


def is_cut(lens: Lens, width: int, height: int) -> bool:
    """Tell whether a picture has other proportions than what the camera took.

    One that was only made smaller has the same, and its lens still tells the truth.
    """
    if not lens.width or not lens.height:
        return False
    short, long = sorted((lens.width, lens.height))
    low, high = sorted((width, height))
    return abs(short * high - low * long) > short + long


def focal_length(value: object) -> Decimal | None:
    """Return a focal length in millimetres with two decimals, or None when it is not sensible."""
    try:
        length = Decimal(str(value)).quantize(Decimal("0.01"))
    except InvalidOperation:
        return None
    return length if length.is_finite() and 0 < length < 10_000 else None


def focal_35(lens: Lens, *, optics: Optics) -> Decimal | None:
    """Return the focal length that looks as wide on 35 mm film, in mm, where it is true."""
    found = lens.focal_35_mm
    true = optics == Optics.CAMERA and found is not None and found <= LONGEST_FOCAL_35_MM
    return found if true else None
