"""Opening, turning, shrinking and writing pictures: the one module that imports Pillow."""

import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from typing import Any, Final

from PIL import Image, ImageDraw, ImageFile, ImageFont
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile
from PIL.WebPImagePlugin import WebPImageFile
from pillow_heif.as_plugin import HeifImageFile

from fraginv.base.errors import InputError
from fraginv.base.rules.metadata import DAMAGED, strip_metadata
from fraginv.base.rules.optics import Lens, Optics, focal_35, focal_length, optics_of
from fraginv.base.rules.pictures import (
    HEIC,
    KEPT_AS,
    SIZES,
    check_bytes,
    check_pixels,
    media_type_of,
    moment_taken,
    too_many_pixels,
)

Picture = Image.Image
UNREADABLE: Final = (  # RuntimeError: sizes and compressions that the decoder of HEIC does not take
    *(OSError, SyntaxError, ValueError, EOFError, RuntimeError, struct.error, IndexError),
)
READERS: Final[dict[str, Callable[[BytesIO], ImageFile.ImageFile]]] = {
    "image/jpeg": JpegImageFile,
    "image/png": PngImageFile,
    "image/webp": WebPImageFile,
    HEIC: HeifImageFile,
}
TYPES: Final = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp", "HEIF": HEIC}
QUALITY: Final = 80
KEPT_QUALITY: Final = 94
ORIENTATION, EXIF_PART, TAKEN, TAKEN_OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
FOCAL, FOCAL_35, ZOOM, EXIF_WIDTH, EXIF_HEIGHT = 0x920A, 0xA405, 0xA404, 0xA002, 0xA003
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
    """What a picture is and says of itself; width and height in pixels, once it is upright.

    ``focal_35_mm`` is there only where it tells how wide the picture looks.
    """

    media_type: str
    width: int
    height: int
    orientation: int
    taken_at: datetime | None
    focal_length_mm: Decimal | None
    focal_35_mm: Decimal | None = None
    optics: Optics = Optics.NONE

    @property
    def kept_type(self) -> str:
        """Return the type in which the original is kept."""
        return KEPT_AS.get(self.media_type, self.media_type)


@dataclass(frozen=True)
class Pixels:
    """The pixels of an upright picture, row by row from the top.

    ``channels`` is 1 for grey, 3 for red, green and blue; 8 bits each.
    """

    data: bytes
    width: int
    height: int
    channels: int


@dataclass(frozen=True)
class PreparedPicture:
    """A picture ready to be kept: no place or device in it, and its renditions by size.

    ``grey`` are the pixels that its renditions were made from, at the size in which
    they were unpacked: a half of a large photo's, or all of a small one's.
    """

    facts: PictureFacts
    original: bytes
    renditions: dict[int, bytes]
    grey: Pixels


def inspect_picture(data: bytes, *, zone: str = "UTC") -> PictureFacts:
    """Return what a picture is by its content and header; its pixels are not unpacked.

    Args: ``zone`` for the moment it was taken, where the camera names no offset.
    Raises: InputError for what is no JPEG, PNG, WebP or HEIC, is damaged, or is too large.
    """
    return facts_of(open_picture(data), zone=zone)


def prepare_picture(data: bytes, *, zone: str = "UTC") -> PreparedPicture:
    """Check a picture whole and make what is kept of it.

    A JPEG is decoded once, at a half, a quarter or an eighth of its size where
    that is enough; each rendition is made from one at least about twice as large.
    Raises: as ``inspect_picture``, and InputError when the file breaks off.
    """
    picture = open_picture(data)
    facts = facts_of(picture, zone=zone)
    profile = picture.info.get("icc_profile") if picture.mode in {"RGB", "RGBA"} else None
    try:
        unpacked = unpack(picture)
        grey = pixels_of(turned(unpacked.convert("L"), facts.orientation))
        renditions = dict(renditions_of(turned(shrunk(unpacked), facts.orientation), profile))
        original = original_of(data, facts, picture, profile)
    except UNREADABLE as error:
        raise InputError(DAMAGED) from error
    return PreparedPicture(facts, original, renditions, grey)


def original_of(
    data: bytes, facts: PictureFacts, picture: Image.Image, profile: bytes | None
) -> bytes:
    """Return what is kept of a picture: its own bytes without metadata, or HEIC as a JPEG."""
    if facts.media_type in KEPT_AS:
        return to_jpeg(to_rgb(picture), profile=profile, quality=KEPT_QUALITY)
    return strip_metadata(data, media_type=facts.media_type, orientation=facts.orientation)


def renditions_of(largest: Image.Image, profile: bytes | None) -> Iterator[tuple[int, bytes]]:
    """Yield each rendition with its size, from an upright RGB picture no larger than the first."""
    steps = [largest]
    for size in SIZES:
        roomy = (step for step in reversed(steps) if max(step.size) >= 1.8 * size)
        step = fit(next(roomy, largest), size=size, filter=Image.Resampling.BOX)
        steps.append(step)
        yield size, to_jpeg(step, profile=profile)


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
    lens = lens_of(part)
    optics = optics_of(lens, width=width, height=height)
    if orientation >= 5:
        width, height = height, width
    return PictureFacts(
        media_type=TYPES[picture.format or ""],
        width=width,
        height=height,
        orientation=orientation,
        taken_at=moment_taken(
            str(part.get(TAKEN, "")), offset=str(part.get(TAKEN_OFFSET, "")), zone=zone
        ),
        focal_length_mm=lens.focal_mm,
        focal_35_mm=focal_35(lens, optics=optics),
        optics=optics,
    )


def lens_of(part: dict[int, Any]) -> Lens:
    """Read from Exif how a picture was taken; what makes no sense counts as not said."""
    sides = (part.get(EXIF_WIDTH), part.get(EXIF_HEIGHT))
    width, height = (side if isinstance(side, int) and side > 0 else None for side in sides)
    return Lens(
        focal_mm=focal_length(part.get(FOCAL)),
        focal_35_mm=focal_length(part.get(FOCAL_35)),
        zoom=focal_length(part.get(ZOOM)),
        width=width,
        height=height,
    )


def unpack(picture: ImageFile.ImageFile) -> Image.Image:
    """Unpack a picture, a JPEG at a part of its size that still fills the largest rendition."""
    scale = min(1.0, SIZES[0] / max(picture.size))
    wanted = (max(1, int(picture.width * scale)), max(1, int(picture.height * scale)))
    picture.draft("RGB", wanted)
    picture.load()
    return picture


def shrunk(picture: Image.Image) -> Image.Image:
    """Return a picture in RGB, no larger than the largest rendition."""
    return to_rgb(fit(picture, size=SIZES[0], filter=Image.Resampling.HAMMING))


def turned(picture: Image.Image, orientation: int) -> Image.Image:
    """Return a picture upright. Args: ``orientation`` as Exif numbers it."""
    return picture.transpose(TURNS[orientation]) if orientation in TURNS else picture


def pixels_of(picture: Image.Image) -> Pixels:
    """Return the pixels of a grey or RGB picture."""
    return Pixels(picture.tobytes(), picture.width, picture.height, len(picture.getbands()))


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


def to_jpeg(picture: Image.Image, *, profile: bytes | None = None, quality: int = QUALITY) -> bytes:
    """Write an RGB picture as JPEG with nothing but its pixels and colour profile."""
    target = BytesIO()
    picture.save(target, "JPEG", quality=quality, icc_profile=profile or b"")
    return target.getvalue()


@dataclass(frozen=True)
class Mark:
    """Words written small on a picture, their lower left at parts of its width and height.

    Where nothing else is said they stand at the lower left, inside a crop to four by three.
    """

    text: str
    at: tuple[float, float] = (0.03, 0.855)


def jpeg_of_pixels(
    pixels: bytes,
    *,
    width: int,
    height: int,
    mark: Mark | None = None,
    focal_35: int | None = None,
) -> bytes:
    """Write RGB pixels, row by row from the top, as JPEG.

    Args: ``focal_35`` is told as the focal length that looks as wide on 35 mm film.
    """
    picture = Image.frombytes("RGB", (width, height), pixels)
    if mark:
        font = ImageFont.load_default(size=max(10, height // 36))
        at = (width * mark.at[0], height * mark.at[1])
        draw = ImageDraw.Draw(picture)
        draw.text(at, mark.text, font=font, anchor="ls", fill=(208, 216, 235))
    if focal_35 is None:
        return to_jpeg(picture)
    exif = Image.Exif()
    exif.get_ifd(EXIF_PART)[FOCAL_35] = focal_35
    target = BytesIO()
    picture.save(target, "JPEG", quality=QUALITY, exif=exif)
    return target.getvalue()
