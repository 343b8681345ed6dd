"""What the pages of racks, troughs and rounds show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Exists, OuterRef, QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.queries.organisation import today
from fraginv.base.rules.codes import show_code
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.front.rules.drawn import (
    FIT_ACROSS,
    SHOWN_MARKS,
    Line,
    Mark,
    columns_of,
    lines_of,
    marks_of,
    say_hole,
    say_seen,
)
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import photos_of
from fraginv.stock.models import Colony, Frag, Rack, RackEvent
from fraginv.stock.queries.places import colonies_in
from fraginv.stock.queries.racks import events_of, rack_to_draw, stands_in
from fraginv.stock.queries.rounds import RackSum, Spot, watched
from fraginv.stock.rules.racks import Hole
from fraginv.stock.rules.rounds import LATE, Due, due_of

LISTED = 500
LOOSE = 60
HAPPENED = 5
PHOTOS = 4


@dataclass(frozen=True)
class Piece:
    """One frag in a drawn rack: its row in the list, what is due, and its marks."""

    row: FragRow
    due: tuple[Due, ...]
    marks: tuple[Mark, ...]

    @property
    def frag(self) -> Frag:
        """Return the frag."""
        return self.row.frag

    @property
    def is_lot(self) -> bool:
        """Tell whether it is a lot."""
        return self.frag.is_lot

    @property
    def stage(self) -> str:
        """Return its stage."""
        return self.frag.stage

    @property
    def is_marked(self) -> bool:
        """Tell whether something is wrong with it or late."""
        return bool(self.frag.wrong) or not LATE.isdisjoint(self.due)

    @property
    def end(self) -> str:
        """Return the last three characters of its code, by which it is found."""
        return self.frag.code_id[-3:]

    @property
    def shown_marks(self) -> tuple[Mark, ...]:
        """Return the marks that there is room for."""
        return self.marks[:SHOWN_MARKS]

    @property
    def hole(self) -> Hole | None:
        """Return the hole in which it stands."""
        frag = self.frag
        return (frag.hole_row, frag.hole_column) if frag.hole_row and frag.hole_column else None

    @property
    def label(self) -> str:
        """Say all that its place in the picture shows."""
        frag = self.frag
        told = [self.end, say_hole(self.hole), frag.variety.name, show_code(frag.code_id)]
        told += [frag.stage, *(mark.words for mark in self.marks)]
        return ", ".join([*told, *([f"{frag.pieces} pieces"] if frag.is_lot else [])])


@dataclass(frozen=True)
class RackPage:
    """A rack as it is drawn, with what stands in it and what happened to it."""

    rack: Rack
    lines: Sequence[Line[Piece]]
    columns: Sequence[int]
    pieces: Sequence[Piece]
    loose: Sequence[Piece]
    summed: RackSum
    colonies: Sequence[Colony]
    events: Sequence[RackEvent] = field(default_factory=list)

    @property
    def fits(self) -> bool:
        """Tell whether the rack is drawn to the width of the window."""
        return self.rack.columns <= FIT_ACROSS

    @property
    def loose_more(self) -> int:
        """Return how many of those a page does not show."""
        return len(self.loose) - len(self.shown_loose)

    @property
    def shown_loose(self) -> Sequence[Piece]:
        """Return those whose hole is not known, as many as a page shows."""
        return self.loose[:LOOSE]

    @property
    def listed(self) -> Sequence[FragRow]:
        """Return the rows of the list beside the picture, as many as a page shows."""
        return [piece.row for piece in self.pieces[:LISTED]]

    @property
    def seen(self) -> str:
        """Say when all in it was last looked at."""
        return said_of(self.rack)


def said_of(rack: Rack) -> str:
    """Say when a rack read by ``with_last_look`` was seen, and by whom."""
    days = (today() - rack.seen_on).days if rack.seen_on else None
    who = getattr(rack, "seen_by", None)
    return say_seen(days) + (f" by {who}" if who else "")


def piece_of(row: FragRow, *, day: date) -> Piece:
    """Return a frag as it is drawn, read with variety, rack, trough and system."""
    due = due_of(watched(row.frag), today=day)
    keys = set(row.flags) | ({"late"} if not LATE.isdisjoint(due) else set())
    if Due.LIKELY in due:
        keys.add("likely")
    rack = row.frag.rack
    if rack is not None and rack.trough.system.quarantine:
        keys.discard("quarantined")
    return Piece(row, due, marks_of(keys))


def pieces_in(frags: QuerySet[Frag]) -> list[Piece]:
    """Return frags as they are drawn.

    Queries: 1.
    """
    day = today()
    found = frags.select_related("variety", "colony", "rack__trough__system")
    return [piece_of(row, day=day) for row in rows_of(found)]


def piece_by_code(code: str) -> Piece:
    """Return a living or an ended frag as it is drawn, by its code.

    Raises: NotFound.
    Queries: 1.
    """
    found = pieces_in(listed().filter(code_id=code))
    if not found:
        raise NotFound(f"{show_code(code)} is not a frag.", code=code)
    return found[0]


def rack_with_photos(code: str) -> tuple[Rack, list[Photo]]:
    """Return a rack to be drawn, with its latest photos.

    Raises: NotFound.
    Queries: 1, and 1 more where it has photos.
    """
    there = Exists(Photo.objects.filter(rack=OuterRef("pk")))
    rack = rack_to_draw(code, also={"photographed": there})
    is_there = bool(getattr(rack, "photographed"))  # noqa: B009 an annotation unknown to the stubs
    return rack, list(photos_of(rack)[:PHOTOS]) if is_there else []


def drawn_rack(rack: Rack) -> RackPage:
    """Return a rack as it is drawn.

    Queries: 3.
    """
    there = listed().filter(stands_in(rack)).order_by("hole_row", "hole_column", "pk")
    pieces = pieces_in(there)
    standing = {piece.hole: piece for piece in pieces if piece.hole is not None}
    loose = [piece for piece in pieces if piece.hole is None]
    return RackPage(
        rack=rack,
        lines=lines_of(standing, rows=rack.rows, columns=rack.columns, turned=rack.turned),
        columns=columns_of(rack.columns, turned=rack.turned),
        pieces=[*standing.values(), *loose],
        loose=loose,
        summed=sum_of(pieces),
        colonies=list(colonies_in(rack).select_related("variety")[:LOOSE]),
        events=list(events_of(rack)[:HAPPENED]),
    )


def sum_of(pieces: Iterable[Piece]) -> RackSum:
    """Return what stands in a rack, counted."""
    summed = RackSum()
    for piece in pieces:
        frag = piece.frag
        rack = frag.rack_id or 0
        summed.add(Spot(frag.pk, rack, piece.hole, frag.stage, frag.pieces, frag.wrong, piece.due))
    return summed
