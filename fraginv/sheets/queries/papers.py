"""The availability sheet on paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.base.errors import NotFound
from fraginv.base.paper import render_pdf
from fraginv.base.queries.files import read_rendition
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.growth.models import Photo
from fraginv.sheets.queries.availability import Availability, Reader, availability
from fraginv.sheets.rules import SheetLine, Shelf, shelves

# Pixels of the longer side: 240 over 28 mm are 218 dots an inch, 600 over 56 mm 272.
SMALL, LARGE = 240, 600


@dataclass(frozen=True)
class Pictured:
    """Lines of one variety, or one piece sold as pictured, with the picture's name."""

    lines: Sequence[SheetLine]
    picture: str
    is_lost: bool

    @property
    def first(self) -> SheetLine:
        """Return the line whose name stands for all."""
        return self.lines[0]


@dataclass(frozen=True)
class PaperShelf:
    """One group as the paper shows it."""

    shelf: Shelf
    varieties: Sequence[Pictured]
    pictured: Sequence[Pictured]


def sheet_pdf(reader: Reader, *, day: date | None = None) -> bytes:
    """Return the sheet of what a customer, or a kind of customer, can have now.

    Args: ``day`` whose prices hold, today unless given.
    Queries: as ``availability``.
    """
    return sheet_paper(availability(reader, day=day or today()))


def sheet_paper(found: Availability) -> bytes:
    """Put a sheet on paper; the same sheet gives the same bytes.

    A picture that is missing in the storage leaves its place empty and says so there.
    Queries: none inside a request, else 1.
    """
    pictures: dict[str, bytes] = {}
    with organisation_kept() as house:
        context = {
            "organisation": house,
            "found": found,
            "groups": [
                paper_shelf(shelf, found=found, into=pictures) for shelf in shelves(found.lines)
            ],
            "cautions": found.cautions,
        }
        return render_pdf("sheets/paper_sheet.html", context, pictures=pictures)


def paper_shelf(shelf: Shelf, *, found: Availability, into: dict[str, bytes]) -> PaperShelf:
    """Return a group with the names of its pictures, and put their bytes aside."""

    def pictured(lines: Sequence[SheetLine], *, size: int) -> Pictured:
        photo = found.photo_of(lines[0])
        name = take_picture(photo, size=size, into=into)
        return Pictured(lines, name, is_lost=photo is not None and not name)

    return PaperShelf(
        shelf=shelf,
        varieties=[pictured(lines, size=SMALL) for lines in shelf.varieties],
        pictured=[pictured([line], size=LARGE) for line in shelf.pictured],
    )


def take_picture(photo: Photo | None, *, size: int, into: dict[str, bytes]) -> str:
    """Read a photo's rendition and return its name on the paper, nothing where it is not there."""
    if photo is None:
        return ""
    name = f"{photo.file.sha256[:16]}-{size}"
    if name not in into:
        try:
            into[name] = read_rendition(photo.file, size=size)
        except NotFound:
            return ""
    return name
