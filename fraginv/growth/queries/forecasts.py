"""When frags will be ready, and how many of a variety by when."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from typing import Any, Final

from django.db.models import Q, QuerySet, Sum

from fraginv.growth.models import Measurement, VarietyPace
from fraginv.growth.queries.histories import measured, size_of, sizes_of
from fraginv.growth.rules.counts import Count, Standing, count_by
from fraginv.growth.rules.forecast import Forecast, Growing, forecast
from fraginv.growth.rules.growth import Size
from fraginv.growth.rules.paces import Pace, supposed_pace
from fraginv.stock.models import Frag, Variety
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.varieties import pace_of as rule_of
from fraginv.stock.rules.stages import Stage

UNREADY: Final = (Stage.HEALING.value, Stage.GROWING.value)
# So many measured frags of a variety are counted each by its own size, the latest ones.
MOST_SIZES: Final = 600
AHEAD: Final = tuple(timedelta(weeks=weeks) for weeks in (2, 4, 8, 12))


@dataclass(frozen=True)
class Counted:
    """A variety's pieces that are not ready yet, and how many are expected by some days."""

    variety: Variety
    pieces: int
    pace: Pace
    counts: Sequence[Count]


def pace_kept(row: VarietyPace, *, group: str) -> Pace:
    """Return a pace as it was last counted."""
    supposed = supposed_pace(group)
    return Pace(
        log_days=row.log_days,
        log_days_sd=row.log_days_sd,
        rate=row.rate,
        rate_sd=row.rate_sd,
        ready_log_area=(
            supposed.ready_log_area if row.ready_log_area is None else row.ready_log_area
        ),
        ready_log_area_sd=(
            supposed.ready_log_area_sd if row.ready_log_area_sd is None else row.ready_log_area_sd
        ),
        survival=row.survival,
        ready=row.became_ready,
        measured=row.measured,
        graded=row.graded_measured,
    )


def paces_for(varieties: Iterable[Variety]) -> dict[int, Pace]:
    """Return the pace of each variety as last counted, or what is supposed of it.

    Queries: 1, or none without a variety.
    """
    asked = {variety.pk: variety for variety in varieties}
    rows = VarietyPace.objects.filter(variety__in=asked) if asked else []
    kept = {row.variety_id: pace_kept(row, group=asked[row.variety_id].group) for row in rows}
    return {
        pk: kept.get(pk) or supposed_pace(variety.group, least_days=variety.ready_days)
        for pk, variety in asked.items()
    }


def forecasts_of(
    frags: Iterable[Frag], *, today: date, measured: bool = True
) -> dict[int, Forecast]:
    """Return when those of some frags that are not ready yet will be, by their ids.

    Of what came from elsewhere and was never measured nothing is known.
    Args: frags read with their varieties; ``measured`` is whether any may have been.
    Queries: 2, none where all are ready or gone; 1 where none was measured.
    """
    growing = [frag for frag in frags if frag.stage in UNREADY and frag.pieces]
    if not growing:
        return {}
    paces = paces_for(frag.variety for frag in growing)
    sizes = sizes_of([frag.pk for frag in growing]) if measured else {}
    found = {
        frag.pk: forecast(
            growing_of(frag, sizes.get(frag.pk, ())), pace=paces[frag.variety_id], today=today
        )
        for frag in growing
    }
    return {pk: told for pk, told in found.items() if told is not None}


def forecast_with(frag: Frag, *, sizes: Sequence[Size], today: date) -> Forecast | None:
    """Return when a frag read with its variety will be ready, by sizes that are known already.

    Queries: 1, or none where it is ready or gone.
    """
    if frag.stage not in UNREADY or not frag.pieces:
        return None
    pace = paces_for([frag.variety])[frag.variety_id]
    return forecast(growing_of(frag, sizes), pace=pace, today=today)


def growing_of(frag: Frag, sizes: Sequence[Size]) -> Growing:
    """Return a frag read with its variety as rules know it."""
    came_in = frag.arrival_id is not None
    started = None if came_in else started_on(frag.cut_on, frag.heal_by, frag.variety)
    return Growing(started, sizes, frag.variety.ready_mm)


def started_on(cut_on: date, heal_by: date | None, variety: Variety) -> date:
    """Return from when days to ready count: what was cut again begins anew.

    The day by which it has healed moves with it.
    """
    if heal_by is None:
        return cut_on
    return max(cut_on, heal_by - timedelta(days=rule_of(variety).heals_in))


def ready_by(variety: Variety, day: date, *, today: date) -> Count:
    """Return how many pieces of a variety will be ready by a day and alive, with 80 %.

    Queries: 3.
    """
    return counted(variety, today=today, days=[day]).counts[0]


def counted(variety: Variety, *, today: date, days: Sequence[date] | None = None) -> Counted:
    """Return how many pieces of a variety will be ready by some days.

    Args: ``days`` are two, four, eight and twelve weeks from now unless given.
    Queries: 3; it looks at the variety's frags that are not ready.
    """
    asked = [today + ahead for ahead in AHEAD] if days is None else days
    pace = paces_for([variety])[variety.pk]
    own = own_sizes(variety)
    standing = [*standing_of(variety, left_out=own), *own]
    return Counted(
        variety,
        sum(one.pieces for one in standing),
        pace,
        count_by(standing, pace=pace, today=today, days=asked),
    )


def unready(variety: Variety) -> QuerySet[Frag]:
    """Return the frags of a variety that are not ready yet.

    Queries: none until it is read, then 1.
    """
    return Frag.objects.filter(LIVES, variety=variety, stage__in=UNREADY)


@dataclass(frozen=True)
class Own(Standing):
    """A frag that is counted by its own size, and the group in which it would be else."""

    group: tuple[Any, ...] = ()


def own_sizes(variety: Variety) -> list[Own]:
    """Return a variety's measured frags that are not ready yet, each with its sizes.

    Queries: 1.
    """
    rows = measured(
        Measurement.objects.filter(
            Q(frag__pieces__gte=1), frag__variety=variety, frag__stage__in=UNREADY
        )
    )
    columns = ("taken_on", "area_mm2", "sigma_area_mm2", "diameter_mm", "sigma_diameter_mm")
    told = rows.order_by("-frag", "-taken_at", "-pk").values_list(
        *("frag_id", "frag__pieces", "frag__cutting", "frag__arrival"),
        *("frag__cut_on", "frag__heal_by"),
        *columns,
    )[:MOST_SIZES]
    found = []
    for _, lines in groupby(told, key=lambda row: row[0]):
        first, *rest = lines
        sizes = [size_of(*line[6:]) for line in (first, *rest)][::-1]
        _, pieces, cutting, arrival, cut_on, heal_by, *_ = first
        start = None if arrival else started_on(cut_on, heal_by, variety)
        growing = Growing(start, sizes, variety.ready_mm)
        found.append(Own(growing, pieces, (cutting, arrival, cut_on, heal_by)))
    return found


def standing_of(variety: Variety, *, left_out: Iterable[Own]) -> list[Standing]:
    """Return a variety's pieces that are not ready yet, those of one cutting together.

    Args: ``left_out`` are counted by themselves.
    Queries: 1.
    """
    rows = unready(variety).order_by().values_list("cutting_id", "arrival_id", "cut_on", "heal_by")
    pieces = {tuple(key): count for *key, count in rows.annotate(Sum("pieces"))}
    for one in left_out:
        pieces[one.group] = pieces.get(one.group, 0) - one.pieces
    return [
        Standing(Growing(None if arrival else started_on(cut_on, heal_by, variety)), max(count, 0))
        for (_, arrival, cut_on, heal_by), count in pieces.items()
    ]
