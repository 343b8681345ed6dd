"""What the pages of a count show."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fraginv.base.models import Person
from fraginv.front.queries.racks import Piece, pieces_in
from fraginv.front.queries.rows import listed
from fraginv.front.queries.scans import frag_scanned
from fraginv.stock.models import Frag, Rack, RackCount
from fraginv.stock.queries.rack_counts import gaps_in, open_count, there_of
from fraginv.stock.rules.counts import Gap


@dataclass(frozen=True)
class Missing:
    """A frag with a gap, as it is asked about."""

    gap: Gap
    piece: Piece

    @property
    def said(self) -> str:
        """Say what the count found of it."""
        gap = self.gap
        if not gap.found:
            return "missing" if gap.pieces == 1 else f"all {gap.pieces} missing"
        if gap.short > 0:
            return f"{gap.found} of {gap.pieces} found, {gap.short} missing"
        return f"{gap.found} found, {-gap.short} more than the lot has"


@dataclass(frozen=True)
class ToSettle:
    """A count that is to be settled: what was found, what differs, what else is there."""

    count: RackCount
    there: dict[int, int]
    missing: Sequence[Missing]
    extra: Sequence[Piece]

    @property
    def is_clear(self) -> bool:
        """Tell whether all is there and nothing else."""
        return not self.missing and not self.extra


def kept_count(rack: Rack, *, by: Person) -> RackCount | None:
    """Return what a person has counted of a rack so far, or None.

    Queries: 1.
    """
    return open_count(rack, by=by.pk)


def meant_by(texts: Iterable[str]) -> list[Frag]:
    """Return the frags that were scanned or typed, in that order.

    Raises: as ``frag_scanned``.
    Queries: those of ``frag_scanned`` for each.
    """
    return [frag_scanned(text) for text in texts]


def to_settle(rack: Rack, *, count: RackCount) -> ToSettle:
    """Return a count with where it differs from what is written down now.

    Queries: 1, and 1 each where something differs and where something else is there.
    """
    there = there_of(count)
    gaps = gaps_in(rack, there=there)
    shown = {piece.frag.pk: piece for piece in pieces_with([gap.frag for gap in gaps])}
    extra = pieces_with(count.extra)
    strange = [piece for piece in extra if piece.frag.rack_id != rack.pk or not piece.frag.pieces]
    return ToSettle(count, there, [Missing(gap, shown[gap.frag]) for gap in gaps], strange)


def pieces_with(frag_ids: Sequence[int]) -> list[Piece]:
    """Return frags by their ids as they are drawn.

    Queries: 1, or none for none.
    """
    found = listed().filter(pk__in=frag_ids).order_by("hole_row", "hole_column", "pk")
    return pieces_in(found) if frag_ids else []
