"""What a stop-sale touches now."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Q, Sum

from fraginv.base import clock
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.front.queries.rows import PAGE, FragRow, listed, rows_of
from fraginv.stock.models import Claim, Frag, StopSale
from fraginv.stock.models.frags import LIVES
from fraginv.stock.queries.stops import touched_by

SHOWN = 30
PROMISES = 100


@dataclass(frozen=True)
class Counted:
    """How many frags and pieces of one variety, or in one rack."""

    name: str
    frags: int
    pieces: int


@dataclass(frozen=True)
class StopPage:
    """A stop-sale with what it touches; ``more_promises`` where there are more than shown."""

    stop: StopSale
    name: str
    frags: int
    pieces: int
    by_variety: Sequence[Counted]
    by_rack: Sequence[Counted]
    promises: Sequence[Claim]
    more_promises: bool
    rows: Sequence[FragRow]
    portion: Portion[Frag]


def stop_page(stop: StopSale, *, after: int | None) -> StopPage:
    """Return what a stop-sale touches now: counts, open promises, a page of the frags.

    Raises: NotFound for a page that is not there.
    Queries: 5, and 1 more from the second page on.
    """
    touched = Frag.objects.filter(LIVES & touched_by(stop)).order_by()
    sums = touched.aggregate(frags=Count("pk"), pieces=Sum("pieces", default=0))
    portion = portion_of(
        listed().filter(LIVES & touched_by(stop)), order=["-pk"], size=PAGE, after=after
    )
    promises = promises_touched(stop)
    return StopPage(
        stop=stop,
        name=stop.concerns,
        frags=sums["frags"],
        pieces=sums["pieces"],
        by_variety=counted_by(stop, "variety__name"),
        by_rack=counted_by(stop, "rack__trough__name", "rack__name"),
        promises=promises[:PROMISES],
        more_promises=len(promises) > PROMISES,
        rows=rows_of(portion.rows),
        portion=portion,
    )


def counted_by(stop: StopSale, *names: str) -> list[Counted]:
    """Return the frags that a stop-sale touches, counted by the columns named, most first.

    Queries: 1.
    """
    touched = Frag.objects.filter(LIVES & touched_by(stop)).order_by()
    rows = touched.values_list(*names).annotate(frags=Count("pk"), total=Sum("pieces"))
    found = rows.order_by("-total", *names)[:SHOWN]
    return [
        Counted(", ".join(filter(None, row[:-2])) or "No known place", row[-2], row[-1])
        for row in found
    ]


def promises_touched(stop: StopSale) -> list[Claim]:
    """Return the open holds on frags that a stop-sale touches, and one more than are shown.

    Queries: 1.
    """
    touched = Frag.objects.filter(LIVES & touched_by(stop)).order_by().values("pk")
    rows = Claim.objects.filter(frag__in=touched, ended_at__isnull=True).exclude(kind="sale")
    alive = rows.filter(Q(until__isnull=True) | Q(until__gt=clock.now()))
    along = ("party__customer", "frag__variety", "by")
    return list(alive.select_related(*along).order_by("until", "pk")[: PROMISES + 1])
