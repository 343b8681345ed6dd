"""What a picture may be, how large its renditions are, and what the files are called."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Final
from zoneinfo import ZoneInfo

from fraginv.base.errors import InputError

MAX_BYTES: Final = 25 * 1024 * 1024
MAX_PIXELS: Final = 50_000_000
# For papers: 26 mm wide at 313 dots to the inch.
PRINT_SIZE: Final = 320
SIZES: Final = (1600, 600, PRINT_SIZE, 240)
SUFFIXES: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
HEIC: Final = "image/heic"
HEIC_BRANDS: Final = frozenset({b"heic", b"heix", b"hevc", b"mif1", b"msf1", b"heim", b"heis"})
# What HEIC is kept as: a JPEG of this quality, in which no eye tells a difference.
KEPT_AS: Final = {HEIC: "image/jpeg"}


def media_type_of(data: bytes) -> str:
    """Return the type of a picture by its content; what the file is called plays no part.

    Raises: InputError for everything that is not JPEG, PNG, WebP or HEIC, with what it is.
    Source: the formats' own first bytes, from memory.
    """
    if not data:
        raise InputError("The file is empty. Choose the picture again.")
    if data.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_BRANDS:
        return HEIC
    raise InputError(refusal_of(data))


def refusal_of(data: bytes) -> str:
    """Say what a file is that is not one of the pictures we take."""
    found = next((name for start, name in OTHERS if data.startswith(start)), "no picture")
    return f"The file is {found}, whatever its name says. Send a JPEG, PNG, WebP or HEIC picture."


OTHERS: Final = (
    (b"%PDF", "a PDF"),
    (b"GIF8", "a GIF"),
    (b"BM", "a BMP"),
    (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"<", "text of some kind"),
)


def check_bytes(size: int) -> None:
    """Refuse a file that is too large to take in.

    Args: ``size`` in bytes.
    """
    if size > MAX_BYTES:
        raise InputError(
            f"The picture has {size / 1024 / 1024:.0f} MB; at most "
            f"{MAX_BYTES // 1024 // 1024} MB are taken. Make it smaller and send it again."
        )


def check_pixels(width: int, *, height: int) -> None:
    """Refuse a picture that would unpack into too many pixels, before it is unpacked."""
    if width < 1 or height < 1:
        raise InputError("The picture has no pixels. Choose another.")
    if width * height > MAX_PIXELS:
        raise InputError(too_many_pixels(f" ({width} × {height})"))


def too_many_pixels(size: str = "") -> str:
    """Return the refusal of a picture with too many pixels."""
    return (
        f"The picture has too many pixels{size}; at most {MAX_PIXELS // 1_000_000} million "
        "are taken. Make it smaller and send it again."
    )


def moment_taken(text: str, *, offset: str, zone: str) -> datetime | None:
    """Return when a picture was taken, in UTC, or None when it says nothing sensible.

    Args: ``text`` as Exif writes it (``2026:11:25 14:03:11``); ``offset`` from UTC
    (``-05:00``) when the camera knew it; ``zone`` stands in when it did not.
    """
    try:
        local = datetime.strptime(text.strip("\x00 "), "%Y:%m:%d %H:%M:%S").replace(
            tzinfo=zone_of_offset(offset) or ZoneInfo(zone)
        )
        return local.astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def zone_of_offset(text: str) -> timezone | None:
    """Return the zone that ``+02:00`` stands for, or None when it is none."""
    try:
        found = datetime.strptime(text.strip("\x00 "), "%z").utcoffset()
    except ValueError:
        return None
    return timezone(found or timedelta())


def sizes_kept(*, has_print: bool) -> tuple[int, ...]:
    """Return the sizes of a picture's renditions, with or without the one for papers."""
    return tuple(size for size in SIZES if has_print or size != PRINT_SIZE)


def original_name(sha256: str, *, media_type: str) -> str:
    """Return where in the storage a picture's original lies."""
    return f"pictures/{sha256[:2]}/{sha256}/original.{SUFFIXES[media_type]}"


def rendition_name(sha256: str, *, size: int) -> str:
    """Return where in the storage a picture's rendition lies.

    Args: ``size`` of the longer side in pixels, one of ``SIZES``.
    Raises: InputError for another size.
    """
    if size not in SIZES:
        sizes = ", ".join(str(known) for known in sorted(SIZES))
        raise InputError(f"There is no picture {size} pixels wide. Ask for one of {sizes}.")
    return f"pictures/{sha256[:2]}/{sha256}/{size}.jpg"
