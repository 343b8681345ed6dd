"""What matters now."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from django.db.models import Q, QuerySet

from fraginv.base import clock
from fraginv.base.queries.organisation import today
from fraginv.base.queries.tallies import tallies_of_month
from fraginv.base.rules.tallies import NOW, tallies_under
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.stock.models import Claim, Cutting
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.stages import Stage
from fraginv.stock.rules.tallies import STAGE
from fraginv.taxa.rules import GROUPS

SHOWN: Final = 6
HEALED_AFTER: Final = timedelta(days=14)
SOON: Final = timedelta(hours=24)

# Days from cutting until a look is worth it. Common practice, no source; a
# person grades, this only says where to look first.
READY_AFTER_DAYS: Final = {"SPS": 60, "LPS": 45, "gorgonian": 45, "clam": 365}
READY_AFTER_OTHERS: Final = 30


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
    growing = living.filter(likely_ready_by(day), stage=Stage.GROWING.value, apart=False)
    healing = living.filter(stage=Stage.HEALING.value, cut_on__lte=day - HEALED_AFTER)
    recent = Cutting.objects.select_related("colony__variety", "by")
    return TodayPage(
        stages=stage_counts(),
        likely_ready=rows_of(growing.order_by("cut_on", "pk")[:SHOWN]),
        to_check=rows_of(healing.order_by("cut_on", "pk")[:SHOWN]),
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


def likely_ready_by(day: date) -> Q:
    """Return the condition that a frag was cut long enough ago for its group."""
    condition = Q()
    for group in GROUPS:
        days = READY_AFTER_DAYS.get(group, READY_AFTER_OTHERS)
        condition |= Q(variety__group=group, cut_on__lte=day - timedelta(days=days))
    return condition


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
