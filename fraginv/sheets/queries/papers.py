"""The availability sheet on paper."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fraginv.base.errors import NotFound
from fraginv.base.paper import paper_width, render_pdf
from fraginv.base.queries.files import rendition_source
from fraginv.base.queries.organisation import organisation_kept, today
from fraginv.growth.models import Photo
from fraginv.sheets.queries.availability import Availability, Reader, availability
from fraginv.sheets.rules import SheetLine, Shelf, Words, shelves, words_of

# Pixels of the longer side: 240 over 28 mm are 218 dots an inch, 600 over 56 mm 272.
SMALL, LARGE = 240, 600


@dataclass(frozen=True)
class Pictured:
    """Lines of one variety, or one piece sold as pictured, with its words and picture's name.

    ``title`` is the group's name above its first variety.
    """

    lines: Sequence[SheetLine]
    words: Words
    picture: str
    is_lost: bool
    title: str = ""

    @property
    def first(self) -> SheetLine:
        """Return the line whose name stands for all."""
        return self.lines[0]

    @property
    def high(self) -> int:
        """Return how high the row is at least, in tenths of a millimetre."""
        return self.words.row_high(len(self.lines), titled=bool(self.title))


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
    pictures: dict[str, Path | bytes] = {}
    with organisation_kept() as house:
        groups = [paper_shelf(shelf, found=found, into=pictures) for shelf in shelves(found.lines)]
        offers = [offer for group in groups for offer in group.varieties]
        context = {
            "organisation": house,
            "found": found,
            "groups": groups,
            "row_heights": sorted({offer.high for offer in offers}),
            "word_heights": sorted({offer.words.high for offer in offers}),
            "cautions": found.cautions,
        }
        return render_pdf("sheets/paper_sheet.html", context, pictures=pictures)


def paper_shelf(shelf: Shelf, *, found: Availability, into: dict[str, Path | bytes]) -> PaperShelf:
    """Return a group with the names of its pictures, and put down where they lie."""

    def pictured(lines: Sequence[SheetLine], *, size: int, title: str = "") -> Pictured:
        photo = found.photo_of(lines[0])
        name = take_picture(photo, size=size, into=into)
        words = words_of(lines[0], measure=lambda text, weight: paper_width(text, weight=weight))
        return Pictured(lines, words, name, is_lost=photo is not None and not name, title=title)

    return PaperShelf(
        shelf=shelf,
        varieties=[
            pictured(lines, size=SMALL, title="" if place else shelf.title)
            for place, lines in enumerate(shelf.varieties)
        ],
        pictured=[pictured([line], size=LARGE) for line in shelf.pictured],
    )


def take_picture(photo: Photo | None, *, size: int, into: dict[str, Path | bytes]) -> str:
    """Look a photo's rendition up; return its name on the paper, nothing where it is not there."""
    if photo is None:
        return ""
    name = f"{photo.file.sha256[:16]}-{size}"
    if name not in into:
        try:
            into[name] = rendition_source(photo.file, size=size)
        except NotFound:
            return ""
    return name
