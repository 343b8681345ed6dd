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
class Touched:
    """What a stop-sale touches now, counted; ``more_promises`` where there are more than shown."""

    frags: int
    pieces: int
    by_variety: Sequence[Counted]
    by_rack: Sequence[Counted]
    promises: Sequence[Claim]
    more_promises: bool


@dataclass(frozen=True)
class StopPage:
    """A stop-sale with a page of what it touches; counted on the first page alone."""

    stop: StopSale
    name: str
    touched: Touched | None
    rows: Sequence[FragRow]
    portion: Portion[Frag]


def stop_page(stop: StopSale, *, after: int | None) -> StopPage:
    """Return what a stop-sale touches now: counts, open promises, a page of the frags.

    Raises: NotFound for a page that is not there.
    Queries: 5 on the first page, 2 on another.
    """
    found = listed().filter(LIVES & touched_by(stop))
    portion = portion_of(found, order=["-pk"], size=PAGE, after=after)
    touched = counted(stop) if portion.is_first else None
    return StopPage(stop, stop.concerns, touched, rows_of(portion.rows), portion)


def counted(stop: StopSale) -> Touched:
    """Return what a stop-sale touches now, counted, with the promises that are open.

    Queries: 4; three look at all that it touches.
    """
    frags = Frag.objects.filter(LIVES & touched_by(stop)).order_by()
    sums = frags.aggregate(frags=Count("pk"), pieces=Sum("pieces", default=0))
    promises = promises_touched(stop)
    return Touched(
        frags=sums["frags"],
        pieces=sums["pieces"],
        by_variety=counted_by(stop, "variety__name"),
        by_rack=counted_by(stop, "rack__trough__name", "rack__name"),
        promises=promises[:PROMISES],
        more_promises=len(promises) > PROMISES,
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
