"""What matters now."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.db.models import Q, QuerySet

from fraginv.base import clock
from fraginv.base.queries.looking import Common
from fraginv.base.queries.organisation import today
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.base.rules.tallies import NOW, tallies_under
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.stock.models import Claim, Cutting, StopSale
from fraginv.stock.models.frags import GROWS, HEALS, LIVES
from fraginv.stock.queries.stops import stops
from fraginv.stock.rules.stages import Stage
from fraginv.stock.rules.tallies import HOLDING, STAGE

SHOWN: Final = 6
SOON: Final = timedelta(hours=24)


@dataclass(frozen=True)
class StageCount:
    """How many labelled frags and pieces stand at a stage."""

    stage: str
    frags: int
    pieces: int


@dataclass(frozen=True)
class TodayPage:
    """All that the first page shows."""

    stages: Sequence[StageCount]
    likely_ready: Sequence[FragRow]
    to_check: Sequence[FragRow]
    holds: Sequence[Claim]
    cuttings: Sequence[Cutting]
    stops: Sequence[StopSale]


def today_page() -> TodayPage:
    """Return counts by stage, what to look at, holds that end soon, cuttings, stop-sales.

    Queries: 5, and 1 where a stop-sale holds.
    """
    day, kept = today(), tallies_of_month(NOW)
    living = listed().filter(LIVES)
    growing = living.filter(Q(Common(GROWS)), likely_on__lte=day, apart=False)
    healing = living.filter(Q(Common(HEALS)), heal_by__lte=day)
    recent = Cutting.objects.select_related("colony__variety", "by")
    return TodayPage(
        stages=stage_counts(kept),
        likely_ready=rows_of(growing.order_by("likely_on", "pk")[:SHOWN]),
        to_check=rows_of(healing.order_by("heal_by", "pk")[:SHOWN]),
        holds=list(holds_ending()[:SHOWN]),
        cuttings=list(recent[:3]),
        stops=list(stops()[:SHOWN]) if kept.get(HOLDING) else [],
    )


def stage_counts(sums: Mapping[str, int]) -> list[StageCount]:
    """Return frags and pieces at each stage that lives here, out of the sums that are kept."""
    kept = tallies_under(STAGE, sums)
    return [
        StageCount(stage.value, kept.get((stage, "frags"), 0), kept.get((stage, "pieces"), 0))
        for stage in (Stage.HEALING, Stage.GROWING, Stage.READY)
    ]


def holds_ending() -> QuerySet[Claim]:
    """Return holds that run out within a day, the next first.

    Queries: none until it is read, then 1.
    """
    now = clock.now()
    return (
        Claim.objects.select_related("party", "frag__variety")
        .filter(ended_at__isnull=True, until__gt=now, until__lte=now + SOON)
        .order_by("until", "pk")
    )
