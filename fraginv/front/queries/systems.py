"""What the page of a system shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from fraginv.base.queries.organisation import today
from fraginv.front.rules.drawn import say_seen
from fraginv.stock.models import Rack, System, Trough
from fraginv.stock.models.places import IN_USE
from fraginv.stock.queries.frags import living_of


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
    def seen(self) -> str:
        """Say when the rack that waits longest was seen."""
        days: list[date | None] = [rack.seen_on for rack in self.racks]
        if not days:
            return "no rack yet"
        known = [day for day in days if day is not None]
        if len(known) < len(days):
            return f"{len(days) - len(known)} of {len(days)} racks not seen yet"
        return f"all racks {say_seen((today() - min(known)).days)} or later"


def troughs_of(system: System) -> list[TroughRow]:
    """Return the troughs in use of a system with their racks.

    Queries: 2.
    """
    troughs = list(Trough.objects.filter(IN_USE, system=system).order_by("name", "pk"))
    racks = Rack.objects.filter(IN_USE, trough__system=system).order_by("name", "pk")
    found: dict[int, list[Rack]] = {}
    for rack in racks.annotate(living=living_of("rack")):
        found.setdefault(rack.trough_id, []).append(rack)
    return [TroughRow(trough, found.get(trough.pk, [])) for trough in troughs]
