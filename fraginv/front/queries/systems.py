"""What the page of a system shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.base.queries.organisation import today
from fraginv.base.queries.portions import Portion
from fraginv.front.rules.drawn import say_seen
from fraginv.stock.models import Rack, System, Trough
from fraginv.stock.queries.places import trough_page


@dataclass(frozen=True)
class TroughRow:
    """A trough with its racks; each rack has ``living``."""

    trough: Trough
    racks: Sequence[Rack]

    @property
    def living(self) -> int:
        """Return how many labelled frags live in it."""
        return sum(getattr(rack, "living", 0) for rack in self.racks)

    @property
    def pieces(self) -> int:
        """Return how many pieces live in it."""
        return sum(getattr(rack, "living_pieces", 0) for rack in self.racks)

    @property
    def seen(self) -> str:
        """Say when the rack that waits longest was seen."""
        days: list[date | None] = [rack.seen_on for rack in self.racks]
        if not days:
            return "no rack yet"
        known = [day for day in days if day is not None]
        if len(known) < len(days):
            return f"{len(days) - len(known)} of {len(days)} racks not seen yet"
        return f"all racks {say_seen((today() - min(known)).days)} or later"


def troughs_of(system: System, *, after: int | None) -> tuple[Portion[Trough], list[TroughRow]]:
    """Return a page of the troughs in use of a system, and them with their racks.

    Raises: NotFound for a page that is not there.
    Queries: 2, and 1 more from the second page on.
    """
    page = trough_page(after=after, system=system)
    return page, [TroughRow(trough, list(trough.racks.all())) for trough in page.rows]
