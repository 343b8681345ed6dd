"""Reading, turning, shrinking and writing pictures: the one module that imports Pillow."""

import struct
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from typing import Any, Final

from PIL import Image, ImageDraw, ImageFile, ImageFont
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile

from fraginv.base.errors import InputError
from fraginv.base.rules.metadata import DAMAGED, strip_metadata
from fraginv.base.rules.pictures import (
    SIZES,
    check_bytes,
    check_pixels,
    focal_length,
    media_type_of,
    moment_taken,
    too_many_pixels,
)

UNREADABLE: Final = (OSError, SyntaxError, ValueError, EOFError, struct.error, IndexError)
READERS: Final[dict[str, Callable[[BytesIO], ImageFile.ImageFile]]] = {
    "image/jpeg": JpegImageFile,
    "image/png": PngImageFile,
    "image/webp": WebPImageFile,
}
QUALITY: Final = 80
MOST_GREY_PIXELS: Final = 2_000_000
ORIENTATION, EXIF_PART, TAKEN, TAKEN_OFFSET, FOCAL = 0x0112, 0x8769, 0x9003, 0x9011, 0x920A
TURNS: Final = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True)
class PictureFacts:
    """What a picture is and says of itself; width and height in pixels, once it is upright."""

    media_type: str
    width: int
    height: int
    orientation: int
    taken_at: datetime | None
    focal_length_mm: Decimal | None


@dataclass(frozen=True)
class PreparedPicture:
    """A picture ready to be kept: no place or device in it, and its renditions by size."""

    facts: PictureFacts
    original: bytes
    renditions: dict[int, bytes]


def inspect_picture(data: bytes, *, zone: str = "UTC") -> PictureFacts:
    """Return what a picture is by its content and header; its pixels are not unpacked.

    Args: ``zone`` for the moment it was taken, where the camera names no offset.
    Raises: InputError for what is no JPEG, PNG or WebP, is damaged, or is too large.
    """
    return facts_of(open_picture(data), zone=zone)


def prepare_picture(data: bytes, *, zone: str = "UTC") -> PreparedPicture:
    """Check a picture whole and make what is kept of it.

    A JPEG is decoded once, at a half, a quarter or an eighth of its size where
    that is enough; each rendition is made from the next larger one.
    Raises: as ``inspect_picture``, and InputError when the file breaks off.
    """
    picture = open_picture(data)
    facts = facts_of(picture, zone=zone)
    profile = picture.info.get("icc_profile") if picture.mode in {"RGB", "RGBA"} else None
    original = strip_metadata(data, media_type=facts.media_type, orientation=facts.orientation)
    try:
        step = shrink_first(picture, orientation=facts.orientation)
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error
    renditions = {}
    for size in SIZES:
        step = fit(step, size=size, filter=Image.Resampling.BOX)
        renditions[size] = to_jpeg(step, profile=profile)
    return PreparedPicture(facts, original, renditions)


def open_picture(data: bytes) -> ImageFile.ImageFile:
    """Open a picture's header after the checks at the door."""
    check_bytes(len(data))
    media_type = media_type_of(data)
    # What prints papers lets the whole process fill up broken pictures; none is taken here.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        picture = READERS[media_type](BytesIO(data))
    except Image.DecompressionBombError as error:
        raise InputError(too_many_pixels()) from error
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error
    check_pixels(picture.width, height=picture.height)
    return picture


def facts_of(picture: ImageFile.ImageFile, *, zone: str) -> PictureFacts:
    """Read size, side, moment and lens from an opened picture; broken Exif counts as none."""
    try:
        exif = picture.getexif()
        orientation = exif.get(ORIENTATION, 1)
        part: dict[int, Any] = exif.get_ifd(EXIF_PART)
    except (*UNREADABLE, TypeError, KeyError):
        orientation, part = 1, {}
    if orientation not in TURNS:
        orientation = 1
    width, height = picture.size
    if orientation >= 5:
        width, height = height, width
    return PictureFacts(
        media_type=str(Image.MIME[picture.format or ""]),
        width=width,
        height=height,
        orientation=orientation,
        taken_at=moment_taken(
            str(part.get(TAKEN, "")), offset=str(part.get(TAKEN_OFFSET, "")), zone=zone
        ),
        focal_length_mm=focal_length(part.get(FOCAL)),
    )


def shrink_first(picture: ImageFile.ImageFile, *, orientation: int) -> Image.Image:
    """Unpack a picture into upright RGB no larger than the largest rendition."""
    largest = SIZES[0]
    scale = min(1.0, largest / max(picture.size))
    wanted = (max(1, int(picture.width * scale)), max(1, int(picture.height * scale)))
    picture.draft("RGB", wanted)
    picture.load()
    small = fit(picture, size=largest, filter=Image.Resampling.HAMMING)
    plain = to_rgb(small)
    return plain.transpose(TURNS[orientation]) if orientation in TURNS else plain


def to_rgb(picture: Image.Image) -> Image.Image:
    """Return a picture in plain RGB, on white where it was transparent."""
    if picture.mode.startswith("I"):
        picture = picture.convert("I").point(lambda value: value / 256).convert("L")
    if picture.has_transparency_data:
        clear = picture.convert("RGBA")
        ground = Image.new("RGBA", clear.size, "white")
        return Image.alpha_composite(ground, clear).convert("RGB")
    return picture if picture.mode == "RGB" else picture.convert("RGB")


def fit(picture: Image.Image, *, size: int, filter: Image.Resampling) -> Image.Image:
    """Shrink a picture until its longer side fits; a smaller one stays as it is."""
    scale = size / max(picture.size)
    if scale >= 1:
        return picture
    width, height = (max(1, round(side * scale)) for side in picture.size)
    if picture.mode in {"P", "1"}:
        picture = picture.convert("RGBA" if picture.has_transparency_data else "RGB")
    return picture.resize((width, height), filter)


def to_jpeg(picture: Image.Image, *, profile: bytes | None = None) -> bytes:
    """Write an RGB picture as JPEG with nothing but its pixels and colour profile."""
    target = BytesIO()
    picture.save(target, "JPEG", quality=QUALITY, icc_profile=profile or b"")
    return target.getvalue()


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


def jpeg_of_pixels(pixels: bytes, *, width: int, height: int, mark: str = "") -> bytes:
    """Write RGB pixels, row by row from the top, as JPEG.

    Args: ``mark`` is written small at the lower left, inside a crop to four by three.
    """
    picture = Image.frombytes("RGB", (width, height), pixels)
    if mark:
        font = ImageFont.load_default(size=max(10, height // 36))
        at = (width * 0.03, height * 0.855)
        draw = ImageDraw.Draw(picture)
        draw.text(at, mark, font=font, anchor="ls", fill=(208, 216, 235))
    return to_jpeg(picture)
