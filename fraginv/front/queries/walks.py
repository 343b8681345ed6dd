"""What rounds and the page of a trough show."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from fraginv.base.queries.organisation import today
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.front.queries.racks import Piece, pieces_in, said_of
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.front.rules.drawn import Line, lines_of
from fraginv.stock.models import Rack, Trough
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.places import racks
from fraginv.stock.queries.racks import with_last_look
from fraginv.stock.queries.rounds import RackSum, Spot, spots_in, sums_of
from fraginv.stock.rules.rounds import Due, say_due

ROUND: Final = 20
ASTRAY: Final = 40
WALK: Final = (
    "trough__system__quarantine",
    "trough__system__name",
    "trough__system",
    "trough__name",
    "trough",
    "name",
    "pk",
)


@dataclass(frozen=True)
class RackRow:
    """A rack in a round: what stands in it, what is due, when it was seen and by whom."""

    rack: Rack
    summed: RackSum
    spots: Sequence[Spot] = field(default_factory=list)

    @property
    def seen(self) -> str:
        """Say when all in it was last looked at, and by whom."""
        return said_of(self.rack)

    @property
    def lines(self) -> Sequence[Line[Spot]]:
        """Return the rack as it is drawn small."""
        rack = self.rack
        standing = {spot.hole: spot for spot in self.spots if spot.hole is not None}
        return lines_of(standing, rows=rack.rows, columns=rack.columns, turned=rack.turned)

    @property
    def loose(self) -> int:
        """Return how many frags stand in a hole that is not known."""
        return sum(spot.hole is None for spot in self.spots)

    @property
    def has_holes(self) -> bool:
        """Tell whether there is something to draw: an empty rack, or a hole that is known."""
        return self.loose < len(self.spots) or not self.spots

    @property
    def is_seen_today(self) -> bool:
        """Tell whether somebody has been here today."""
        return self.rack.seen_on == today()

    @property
    def due(self) -> Sequence[str]:
        """Say what is due in it."""
        told = [say_due(due, count=self.summed.due[due]) for due in Due if self.summed.due[due]]
        wrong = self.summed.wrong
        return [*([f"{wrong} not well"] if wrong else []), *told]


def rows_for(found: Iterable[Rack]) -> list[RackRow]:
    """Return racks with what stands in them.

    Queries: 1.
    """
    shown = list(found)
    spots = spots_in([rack.pk for rack in shown], today=today())
    by_rack: dict[int, list[Spot]] = {}
    for spot in spots:
        by_rack.setdefault(spot.rack, []).append(spot)
    sums = sums_of(spots)
    return [RackRow(rack, sums.get(rack.pk, RackSum()), by_rack.get(rack.pk, [])) for rack in shown]


def walked_past(*, after: int | None) -> tuple[Portion[Rack], list[RackRow]]:
    """Return a page of the racks in use in the order of a walk, with what is due in each.

    Queries: 2, and 1 more from the second page on.
    """
    page = portion_of(with_last_look(racks()), order=WALK, size=ROUND, after=after)
    return page, rows_for(page.rows)


def in_no_rack() -> list[FragRow]:
    """Return the latest living frags that were not placed yet, or are still looked for.

    Queries: 1.
    """
    return rows_of(listed().filter(LIVES, rack__isnull=True)[:ASTRAY])


def racks_of(trough: Trough) -> list[RackRow]:
    """Return the racks of a trough with what stands in them.

    Queries: 2.
    """
    return rows_for(with_last_look(racks().filter(trough=trough)))


def due_in(rows: Sequence[RackRow], *, only: Due | None, most: int) -> tuple[list[Piece], int]:
    """Return the frags of racks that are due or not well, the most urgent first, and how many.

    Args: ``only`` those due for one reason; at most ``most``.
    Queries: 1, or none where nothing is due.
    """
    urgency: Mapping[Due, int] = {due: place for place, due in enumerate(Due)}
    found = [
        (urgency[spot.due[0]] if spot.due else 0, spot.frag)
        for row in rows
        for spot in row.spots
        if (only in spot.due if only else spot.due or spot.wrong)
    ]
    wanted = [frag for _, frag in sorted(found)[:most]]
    places = {frag: place for place, frag in enumerate(wanted)}
    pieces = pieces_in(listed().filter(pk__in=wanted)) if wanted else []
    return sorted(pieces, key=lambda piece: places[piece.frag.pk]), len(found)
