"""Taking place, device and everything else that is not the picture out of picture files.

The pixels stay as they are, byte for byte. What says which side is up is put
back, for without it the picture would lie on its side.

Source: ITU-T T.81 annex B (JPEG markers); PNG, third edition, clause 5;
RFC 9649 (WebP container); CIPA DC-008, Exif 2.32, 4.6.4 (orientation). From memory.
"""

import re
import struct
import zlib
from collections.abc import Callable, Iterator
from typing import Final

from fraginv.base.errors import InputError

DAMAGED: Final = "The picture is damaged or not whole. Send it again, or take it anew."
PNG_START: Final = b"\x89PNG\r\n\x1a\n"
PNG_KEPT: Final = frozenset(
    {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"iCCP", b"sRGB", b"gAMA", b"cHRM", b"sBIT"}
)
WEBP_KEPT: Final = frozenset({b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ICCP", b"ANIM", b"ANMF"})
WEBP_EXIF_FLAG: Final = 0x08
WEBP_XMP_FLAG: Final = 0x04
MARKER_IN_SCAN: Final = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")
SOI, EOI, SOS, APP1, APP2, APP14, APP15, COM = 0xD8, 0xD9, 0xDA, 0xE1, 0xE2, 0xEE, 0xEF, 0xFE


def strip_metadata(data: bytes, *, media_type: str, orientation: int = 1) -> bytes:
    """Return the same picture with nothing but pixels, colours and which side is up.

    Args: ``orientation`` 1 to 8 as Exif numbers them; 1 is upright and not written.
    Raises: InputError when the file breaks off or contradicts itself.
    """
    strip: Callable[[bytes, int], bytes] = {
        "image/jpeg": strip_jpeg,
        "image/png": strip_png,
        "image/webp": strip_webp,
    }[media_type]
    try:
        return strip(data, orientation)
    except (struct.error, IndexError) as error:
        raise InputError(DAMAGED) from error


def exif_with_orientation(orientation: int) -> bytes:
    """Return the smallest Exif block (TIFF, one entry) that says which side is up."""
    entry = struct.pack("<HHIHH", 0x0112, 3, 1, orientation, 0)
    return b"II*\x00" + struct.pack("<IH", 8, 1) + entry + struct.pack("<I", 0)


def strip_jpeg(data: bytes, orientation: int) -> bytes:
    """Keep a JPEG's tables and scans, its colour profile and its Adobe marker.

    What phones hang behind the end of the picture (films, second views) goes too.
    """
    kept = [data[:2]]
    if orientation != 1:
        exif = b"Exif\x00\x00" + exif_with_orientation(orientation)
        kept.append(struct.pack(">BBH", 0xFF, APP1, len(exif) + 2) + exif)
    kept.extend(
        segment for marker, segment in jpeg_segments(data) if is_kept_segment(marker, segment)
    )
    return b"".join(kept)


def is_kept_segment(marker: int, segment: bytes) -> bool:
    """Tell whether a JPEG segment is part of the picture itself."""
    if marker == APP2:
        return segment[4:].startswith(b"ICC_PROFILE\x00")
    return marker == APP14 or not (APP1 <= marker <= APP15 or marker == COM)


def jpeg_segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield marker and bytes of each segment after the start, up to the end of the picture.

    A scan's coded data belongs to the segment that opens it.
    """
    at = 2
    while True:
        while data[at] == 0xFF and data[at + 1] == 0xFF:
            at += 1
        if data[at] != 0xFF:
            raise InputError(DAMAGED)
        marker = data[at + 1]
        if marker == EOI:
            yield marker, data[at : at + 2]
            return
        end = at + 2 + struct.unpack_from(">H", data, at + 2)[0]
        if marker == SOS:
            found = MARKER_IN_SCAN.search(data, end)
            if found is None:
                raise InputError(DAMAGED)
            end = found.start()
        yield marker, data[at:end]
        at = end


def strip_png(data: bytes, orientation: int) -> bytes:
    """Keep a PNG's pixels, palette, transparency and colour space; first frame only."""
    kept = [PNG_START]
    at = len(PNG_START)
    kind = b""
    while kind != b"IEND":
        length, kind = struct.unpack_from(">I4s", data, at)
        end = at + 12 + length
        if end > len(data):
            raise InputError(DAMAGED)
        if kind in PNG_KEPT:
            kept.append(data[at:end])
        if kind == b"IHDR" and orientation != 1:
            kept.append(png_chunk(b"eXIf", exif_with_orientation(orientation)))
        at = end
    return b"".join(kept)


def png_chunk(kind: bytes, body: bytes) -> bytes:
    """Return one PNG chunk with its length and check sum."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def strip_webp(data: bytes, orientation: int) -> bytes:
    """Keep a WebP's pixels and colour profile."""
    kept = list[bytes]()
    is_extended = False
    at, whole = 12, 8 + struct.unpack_from("<I", data, 4)[0]
    if whole > len(data):
        raise InputError(DAMAGED)
    while at + 8 <= whole:
        kind, length = struct.unpack_from("<4sI", data, at)
        end = at + 8 + length + length % 2
        if kind == b"VP8X":
            is_extended = True
            kept.append(webp_header(data[at:end], has_exif=orientation != 1))
        elif kind in WEBP_KEPT:
            kept.append(data[at:end])
        at = end
    if orientation != 1 and is_extended:
        exif = exif_with_orientation(orientation)
        kept.append(struct.pack("<4sI", b"EXIF", len(exif)) + exif)
    body = b"WEBP" + b"".join(kept)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def webp_header(chunk: bytes, *, has_exif: bool) -> bytes:
    """Return a WebP's extended header with flags that fit what is kept."""
    flags = chunk[8] & ~(WEBP_EXIF_FLAG | WEBP_XMP_FLAG)
    if has_exif:
        flags |= WEBP_EXIF_FLAG
    return chunk[:8] + bytes([flags]) + chunk[9:]
