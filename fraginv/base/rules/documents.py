"""What a PDF that comes in may be, judged by its bytes; nothing in it is run or drawn.

Source: ISO 32000-1:2008, 7.5 (structure of a file), 7.5.7 (object streams), 7.6.1 (encryption),
7.7.3 (pages); from memory.
"""

import re
import zlib
from collections.abc import Iterator, Sequence
from typing import Final

from fraginv.base.errors import InputError

PDF: Final = "application/pdf"
START: Final = b"%PDF-"
END: Final = b"%%EOF"
# After its end a file may have a few blanks, and some programs leave more.
TAIL: Final = 2048
MOST_BYTES: Final = 10 * 1024 * 1024
MOST_PAGES: Final = 60
# Streams of objects are unpacked up to so many bytes altogether to count pages in them.
MOST_UNPACKED: Final = 32 * 1024 * 1024
PAGE: Final = re.compile(rb"/Type\s*/Page(?![A-Za-z])")
OBJECTS: Final = re.compile(rb"/Type\s*/ObjStm\b")
# What a stream holds is no outline of the file: pictures and fonts may hold any bytes.
STREAM: Final = re.compile(rb"\bstream\r?\n")
STREAM_END: Final = b"endstream"
# So far before a stream begins what is said of it.
LONGEST_HEAD: Final = 1000
ESCAPED: Final = re.compile(rb"#([0-9A-Fa-f]{2})")
LOCKED: Final = re.compile(rb"/Encrypt\s+\d+\s+\d+\s+R|/Encrypt\s*<<")
# What makes a reader do something by itself when the file is opened, or carries another file.
ACTS: Final = re.compile(rb"/(?:JavaScript|JS|Launch|EmbeddedFiles?|RichMedia|XFA)(?![A-Za-z])")


def is_pdf(data: bytes) -> bool:
    """Tell whether a file says of itself in its first bytes that it is a PDF."""
    return data.startswith(START)


def check_pdf(data: bytes) -> None:
    """Refuse a PDF that is too large or long, broken off, locked, or does things by itself.

    It reads the outline of the file and its streams of objects, names written plainly, and
    so finds what common programs write. It is no full reader: what was hidden on purpose,
    say behind a predictor or in a stream whose head is padded, or does harm by a fault of a
    reader, is not found. So nothing of ours opens a PDF, and it goes out as an attachment
    under a policy by which nothing runs.
    Raises: InputError.
    """
    if len(data) > MOST_BYTES:
        raise InputError(
            f"The PDF has {len(data) / 1024 / 1024:.0f} MB; at most "
            f"{MOST_BYTES // 1024 // 1024} MB are taken. Scan it at a lower quality."
        )
    if not is_pdf(data) or END not in data[-TAIL:]:
        raise InputError("The PDF is damaged or not whole. Send it again.")
    inside = list(streams(data))
    outline = plain_names(outline_of(data, inside))
    if LOCKED.search(outline):
        raise InputError("The PDF is locked by a password. Save it without one and send that.")
    refuse_acts_and_length([outline, *map(plain_names, unpacked(data, inside))])


def streams(data: bytes) -> Iterator[tuple[int, int]]:
    """Yield where each stream begins and ends; every byte is looked at once."""
    at = 0
    while found := STREAM.search(data, at):
        end = data.find(STREAM_END, found.end())
        if end < 0:
            return
        yield found.end(), end
        at = end + len(STREAM_END)


def outline_of(data: bytes, inside: Sequence[tuple[int, int]]) -> bytes:
    """Return a file without what stands inside its streams."""
    starts = [0, *(end for _, end in inside)]
    ends = [*(begin for begin, _ in inside), len(data)]
    return b"".join(data[start:end] for start, end in zip(starts, ends, strict=True))


def plain_names(part: bytes) -> bytes:
    """Return a part of a PDF with the names in it written plainly."""
    return ESCAPED.sub(lambda found: bytes([int(found[1], 16)]), part)


def refuse_acts_and_length(parts: list[bytes]) -> None:
    """Refuse scripts and other files in the parts of a PDF, and too many or no pages.

    Raises: InputError.
    """
    if any(ACTS.search(part) for part in parts):
        raise InputError(
            "The PDF holds a script, a form that runs one, or another file. "
            "Print it to a new PDF, or photograph the paper, and send that."
        )
    pages = sum(len(PAGE.findall(part)) for part in parts)
    if not pages:
        raise InputError("The PDF has no page that can be read. Print it to a new PDF.")
    if pages > MOST_PAGES:
        raise InputError(
            f"The PDF has {pages} pages; at most {MOST_PAGES} are taken. Send the ones that matter."
        )


def unpacked(data: bytes, inside: Sequence[tuple[int, int]]) -> Iterator[bytes]:
    """Yield the streams of objects that a PDF packs.

    Raises: InputError where one cannot be read, or they unpack into more than is looked at.
    """
    room = MOST_UNPACKED
    for begin, end in inside:
        head = plain_names(data[max(0, begin - LONGEST_HEAD) : begin].rpartition(STREAM_END)[2])
        if not OBJECTS.search(head):
            continue
        part = data[begin:end]
        if b"/Filter" in head:
            try:
                part = zlib.decompressobj().decompress(part, room + 1)
            except zlib.error as error:
                raise InputError(
                    "The PDF is packed in a way that is not read here. Print it to a new PDF."
                ) from error
        room -= len(part)
        if room < 0:
            raise InputError("The PDF unpacks into too much. Print it to a new PDF.")
        yield part


def document_name(sha256: str) -> str:
    """Return where in the storage a PDF lies."""
    return f"documents/{sha256[:2]}/{sha256}.pdf"
