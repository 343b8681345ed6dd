"""What a month did to the stock, in pieces."""

from collections.abc import Mapping

from django.db.models import IntegerField, Q, QuerySet, Sum
from django.db.models.expressions import Combinable
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from fraginv.base.queries.organisation import today
from fraginv.base.rules.days import month_bounds, month_of
from fraginv.reports.rules.figures import FragFigures
from fraginv.stock.models import Cutting, Frag, FragEvent
from fraginv.stock.rules.events import Kind
from fraginv.stock.rules.stages import Stage

LEFT = (Kind.SOLD.value, Kind.LOST.value)


def frag_figures(month: int, *, sold: int) -> FragFigures:
    """Count a month's pieces.

    ``cut`` is what cuttings gave and what was received, by the day it came in;
    ``lost`` what was written off in the troughs.
    Args: ``sold`` as the papers count it, unnamed pieces too.
    Queries: 4, for the present month 3; and 1 outside a request.
    """
    cuttings = Cutting.objects.filter(month=month).aggregate(
        pieces=Sum("pieces", default=0), lost=Sum("lost", default=0)
    )
    told = pieces_by_kind(FragEvent.objects.filter(month=month))
    return FragFigures(
        cut=cuttings["pieces"] + told.get(Kind.RECEIVED, 0),
        lost=told.get(Kind.LOST, 0),
        lost_at_bench=cuttings["lost"],
        sold=sold,
        ready_at_end=ready_at_end(month),
    )


def event_pieces() -> Combinable:
    """Return the expression for the number of pieces that an event tells of."""
    return Cast(KT("body__pieces"), IntegerField())


def pieces_by_kind(events: "QuerySet[FragEvent]") -> Mapping[str, int]:
    """Add up the pieces that were received and lost.

    Queries: 1.
    """
    rows = events.filter(kind__in=[Kind.RECEIVED.value, Kind.LOST.value]).order_by()
    return dict(rows.values_list("kind").annotate(pieces=Sum(event_pieces())))


def ready_at_end(month: int) -> int:
    """Return how many pieces stood ready when a month ended; for the present one, stand so now.

    A past month is worked out backwards from the present: the living pieces of
    frags that had been graded ready by the end of the month, and those of them
    that were sold or lost since, less those that came back alive since. This is
    exact as long as rows and events agree, which ``verify`` checks, with one
    proviso: a frag counts as ready from its first grading until it leaves.
    Queries: 2, for the present month 1; and 1 outside a request.
    """
    if month >= month_of(today()):
        rows = Frag.objects.filter(stage=Stage.READY.value)
        return int(rows.aggregate(pieces=Sum("pieces", default=0))["pieces"])
    _, last = month_bounds(month)
    living = Frag.objects.filter(
        ready_on__lte=last, stage__in=[Stage.HEALING, Stage.GROWING, Stage.READY]
    ).aggregate(pieces=Sum("pieces", default=0))
    back = Q(kind=Kind.RETURNED.value, body__alive=True)
    since = FragEvent.objects.filter(month__gt=month, frag__ready_on__lte=last).aggregate(
        left=Sum(event_pieces(), filter=Q(kind__in=LEFT), default=0),
        back=Sum(event_pieces(), filter=back, default=0),
    )
    return int(living["pieces"] + since["left"] - since["back"])
