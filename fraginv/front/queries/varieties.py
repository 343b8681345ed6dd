"""What the crew sees of a variety."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import Count, Sum

from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import Caution
from fraginv.front.queries.bench import BenchRow
from fraginv.front.queries.bench import rows_of as resting_rows
from fraginv.front.queries.rows import FragRow, listed, rows_of
from fraginv.front.queries.today import StageCount
from fraginv.growth.queries.forecasts import Counted, counted
from fraginv.growth.rules.said import UsualWords, say_pace
from fraginv.stock.models import Frag, StopSale, Variety
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.cautions import paper_cautions, poison_cautions
from fraginv.stock.queries.colonies import colonies
from fraginv.stock.queries.stops import stops_of_kind
from fraginv.stock.queries.varieties import least_of, pace_of
from fraginv.stock.rules.ready import Least, Pace
from fraginv.stock.rules.stages import Stage

COLONIES: Final = 20
FRAGS: Final = 12


@dataclass(frozen=True)
class VarietyPage:
    """All that the crew sees of a variety."""

    variety: Variety
    pace: Pace
    least: Least
    stages: Sequence[StageCount]
    colonies: Sequence[BenchRow]
    frags: Sequence[FragRow]
    cautions: Sequence[Caution]
    stops: Sequence[StopSale]
    coming: Counted
    usual: UsualWords


def variety_page(variety: Variety) -> VarietyPage:
    """Return what the crew sees of a variety read with its genus.

    Queries: 6, those of ``paper_cautions``, and 1 where a living frag is stopped or none is
        there that would tell.
    """
    coming = counted(variety, today=today())
    genus, living = variety.genus, listed().filter(LIVES, variety=variety)
    frags = rows_of(living[:FRAGS])
    may_be_stopped = not frags or "stop-sale" in frags[0].flags
    found = colonies().filter(variety=variety).order_by("-pk")
    return VarietyPage(
        variety=variety,
        pace=pace_of(variety),
        least=least_of(variety),
        stages=stages_of(variety),
        colonies=resting_rows(list(found[:COLONIES])),
        frags=frags,
        cautions=[*poison_cautions(genus), *paper_cautions(genus, species=variety.species)],
        stops=list(stops_of_kind(variety)) if may_be_stopped else [],
        coming=coming,
        usual=say_pace(coming.pace, group=variety.group),
    )


def stages_of(variety: Variety) -> list[StageCount]:
    """Return how many frags and pieces of a variety stand at each stage.

    Queries: 1; it looks at the variety's living frags.
    """
    rows = Frag.objects.filter(LIVES, variety=variety).order_by().values("stage")
    counted = {
        row["stage"]: (row["frags"], row["total"])
        for row in rows.annotate(frags=Count("pk"), total=Sum("pieces"))
    }
    return [
        StageCount(stage.value, *counted.get(stage.value, (0, 0)))
        for stage in (Stage.HEALING, Stage.GROWING, Stage.READY)
    ]
