"""What matters now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.queries.organisation import today
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.base.rules.tallies import NOW, tallies_under
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.stock.models import Claim, Cutting
from fraginv.stock.models.frags import GROWS, HEALS, LIVES
from fraginv.stock.rules.stages import Stage
from fraginv.stock.rules.tallies import STAGE

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


def today_page() -> TodayPage:
    """Return counts by stage, what to look at, holds that end soon, the latest cuttings.

    Queries: 5.
    """
    day = today()
    living = listed().filter(LIVES)
    growing = living.filter(GROWS, likely_on__lte=day, apart=False)
    healing = living.filter(HEALS, heal_by__lte=day)
    recent = Cutting.objects.select_related("colony__variety", "by")
    return TodayPage(
        stages=stage_counts(),
        likely_ready=rows_of(growing.order_by("likely_on", "pk")[:SHOWN]),
        to_check=rows_of(healing.order_by("heal_by", "pk")[:SHOWN]),
        holds=list(holds_ending()[:SHOWN]),
        cuttings=list(recent[:3]),
    )


def stage_counts() -> list[StageCount]:
    """Return frags and pieces at each stage that lives here, as they are kept.

    Queries: 1.
    """
    kept = tallies_under(STAGE, tallies_of_month(NOW))
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
