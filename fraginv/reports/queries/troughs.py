"""What a month did to the stock, in pieces."""

from collections.abc import Mapping

from django.db.models import Sum

from fraginv.base.queries.organisation import today
from fraginv.base.queries.tallies import tallies_of_month, tally_until
from fraginv.base.rules.days import month_of
from fraginv.base.rules.tallies import NOW, tallies_under
from fraginv.reports.rules.figures import FragFigures
from fraginv.stock.models import Cutting
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import Stage
from fraginv.stock.rules.tallies import READY, STAGE, STOCK


def frag_figures(month: int, *, sold: int, kept: Mapping[str, int] | None = None) -> FragFigures:
    """Count a month's pieces.

    ``cut`` is what cuttings gave and what was received, by the day it came in;
    ``lost`` what was written off in the troughs.
    Args: ``sold`` as the papers count it, unnamed pieces too; ``kept`` the month's sums
        where they have been read already.
    Queries: 2, 1 more where they have not; and 1 outside a request.
    """
    cuttings = Cutting.objects.filter(month=month).aggregate(
        pieces=Sum("pieces", default=0), lost=Sum("lost", default=0)
    )
    told = tallies_under(STOCK, tallies_of_month(month) if kept is None else kept)
    return FragFigures(
        cut=cuttings["pieces"] + told.get((Kind.RECEIVED,), 0),
        lost=told.get((Kind.LOST,), 0),
        lost_at_bench=cuttings["lost"],
        sold=sold,
        ready_at_end=ready_at_end(month),
    )


def ready_at_end(month: int) -> int:
    """Return how many pieces stood ready when a month ended; for the present one, stand so now.

    A past month is added up from what each month before it gained and lost, with one
    proviso: a frag counts as ready from its first grading until it leaves.
    Queries: 1; and 1 outside a request.
    """
    if month >= month_of(today()):
        kept = tallies_under(STAGE, tallies_of_month(NOW))
        return kept.get((Stage.READY, "pieces"), 0)
    return tally_until(READY, month=month)
