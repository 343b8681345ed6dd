"""Reading what is due in racks; the work grows with what stands in them alone."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from fraginv.stock.models import Frag
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.racks import Hole
from fraginv.stock.rules.ready import SEE_DAYS
from fraginv.stock.rules.rounds import LATE, Due, Watched, due_of, later_of

COLUMNS = (
    "pk",
    "rack_id",
    "hole_row",
    "hole_column",
    "stage",
    "pieces",
    "wrong",
    "apart",
    "quarantined",
    "seen_on",
    "dip_due_on",
    "heal_by",
    "likely_on",
    "variety__see_days",
    "rack__seen_on",
    "rack__trough__system__check_days",
)


@dataclass(frozen=True)
class Spot:
    """One living frag where it stands, as far as a round must know it."""

    frag: int
    rack: int
    hole: Hole | None
    stage: str
    pieces: int
    wrong: str
    due: tuple[Due, ...]

    @property
    def is_marked(self) -> bool:
        """Tell whether something is wrong with it or late."""
        return bool(self.wrong) or not LATE.isdisjoint(self.due)


@dataclass
class RackSum:
    """What stands in a rack, counted; ``due`` holds only what is due."""

    frags: int = 0
    pieces: int = 0
    wrong: int = 0
    stages: Counter[str] = field(default_factory=Counter)
    due: Counter[Due] = field(default_factory=Counter)

    def add(self, spot: Spot) -> None:
        """Count one frag."""
        self.frags += 1
        self.pieces += spot.pieces
        self.wrong += bool(spot.wrong)
        self.stages[spot.stage] += 1
        self.due.update(spot.due)


def spots_in(rack_ids: Iterable[int], *, today: date) -> list[Spot]:
    """Return all living frags of racks with what is due of each.

    Queries: 1, or none for no rack.
    """
    wanted = list(rack_ids)
    rows = Frag.objects.filter(LIVES, rack__in=wanted).order_by("rack_id", "pk")
    return [spot_of(row, today=today) for row in rows.values_list(*COLUMNS)] if wanted else []


def spot_of(row: tuple[Any, ...], *, today: date) -> Spot:
    """Return one frag of which the columns were read."""
    told: Mapping[str, Any] = dict(zip(COLUMNS, row, strict=True))
    watched = Watched(
        stage=told["stage"],
        seen_on=later_of(told["seen_on"], told["rack__seen_on"]),
        seen_every=SEE_DAYS if told["variety__see_days"] is None else told["variety__see_days"],
        check_days=told["rack__trough__system__check_days"],
        **{
            name: told[name]
            for name in ("apart", "quarantined", "dip_due_on", "heal_by", "likely_on")
        },
    )
    hole = (told["hole_row"], told["hole_column"]) if told["hole_row"] else None
    return Spot(
        told["pk"],
        told["rack_id"],
        hole,
        told["stage"],
        told["pieces"],
        told["wrong"],
        due_of(watched, today=today),
    )


def watched(frag: Frag) -> Watched:
    """Return what decides whether a frag is due, read with variety, rack, trough and system.

    Queries: none.
    """
    every, rack = frag.variety.see_days, frag.rack
    return Watched(
        stage=frag.stage,
        seen_on=later_of(frag.seen_on, rack.seen_on if rack else None),
        seen_every=SEE_DAYS if every is None else every,
        apart=frag.apart,
        quarantined=frag.quarantined,
        check_days=rack.trough.system.check_days if rack else 7,
        dip_due_on=frag.dip_due_on,
        heal_by=frag.heal_by,
        likely_on=frag.likely_on,
    )


def sums_of(spots: Iterable[Spot]) -> dict[int, RackSum]:
    """Return what stands in each rack, counted."""
    sums: dict[int, RackSum] = {}
    for spot in spots:
        sums.setdefault(spot.rack, RackSum()).add(spot)
    return sums
