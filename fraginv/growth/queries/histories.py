"""What a house has seen of its varieties: how long frags took, how they grew, what died."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import groupby
from typing import Any, Final

from django.db.models import Case, Count, Exists, F, OuterRef, Q, QuerySet, Sum, When

from fraginv.growth.models import Measurement
from fraginv.growth.rules.growth import Known, Size
from fraginv.growth.rules.pace import Cut, Span
from fraginv.growth.rules.paces import History, Life
from fraginv.growth.rules.rates import Grown
from fraginv.stock.models import Frag, FragEvent, Loss, Variety
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import Stage

# What was cut longer ago tells of other water and other lamps.
YEARS: Final = 3
# So many cuttings and measured frags of a variety, the latest ones, tell enough.
MOST_CUTTINGS: Final = 200
MOST_MEASURED: Final = 400
PORTION: Final = 2_000

# Cut anew, or found not to be ready after all: from cutting to ready is not told by such.
ODD: Final = Q(kind=Kind.SPLIT.value, seq__gt=1, body__has_key="stage") | Q(
    kind=Kind.INSPECTED.value, body__was=Stage.READY.value
)
FRESH: Final = Q(kind=Kind.GRADED.value, body__fresh=True)
# What was brought in by a table, growing, with a day of its cutting that lies before.
BROUGHT: Final = Q(kind=Kind.RECEIVED.value, seq=1, day__gt=OuterRef("cut_on"))


def histories(*, today: date, varieties: Iterable[int] | None = None) -> Iterator[History]:
    """Yield what is known of each variety, one after the other, so that few are in memory.

    Args: ``varieties`` by id; all unless given.
    Queries: 4, their rows read in portions.
    """
    since = today - timedelta(days=365 * YEARS)
    wanted = Variety.objects.order_by("pk")
    if varieties is not None:
        wanted = wanted.filter(pk__in=list(varieties))
    deaths = deaths_by_variety(since)
    spans = Groups(spans_by_variety(since, today=today), key=0)
    grown = Groups(sizes_by_variety(since), key=0)
    for pk, group, least in wanted.values_list("pk", "group", "ready_days"):
        told, piece_days = spans_of(spans.of(pk), today=today)
        yield History(
            variety=pk,
            group=group,
            least_days=least,
            spans=told,
            grown=grown_of(grown.of(pk)),
            life=Life(deaths.get(pk, 0), piece_days),
        )


class Groups:
    """Rows in order of a key, taken key by key while they are read."""

    def __init__(self, rows: Iterable[Any], *, key: int) -> None:
        self.groups = groupby(rows, key=lambda row: row[key])
        self.next: tuple[Any, Iterable[Any]] | None = next(self.groups, None)

    def of(self, wanted: int) -> Iterable[Any]:
        """Return the rows of a key; keys are asked for in their order."""
        while self.next is not None and self.next[0] < wanted:
            self.next = next(self.groups, None)
        if self.next is None or self.next[0] != wanted:
            return ()
        _, rows = self.next
        found = list(rows)
        self.next = next(self.groups, None)
        return found


def spans_by_variety(since: date, *, today: date) -> Iterator[tuple[Any, ...]]:
    """Yield the frags cut here by variety, cutting and fate, the latest cuttings first.

    A row is many frags: those of a cutting that became ready, or ended unready, on one day.
    What came from elsewhere is left out, because nobody knows when it was cut.
    Queries: 1, read in portions.
    """
    mine = FragEvent.objects.filter(frag=OuterRef("pk"))
    cut_here = Q(cutting__isnull=False) | Q(arrival__isnull=True, split_from__isnull=True) & Exists(
        mine.filter(BROUGHT).exclude(body__stage=Stage.READY.value)
    )
    is_lot = When(is_lot=True, cutting__isnull=False, then=F("cutting__pieces"))
    frags = (
        Frag.objects.filter(cut_here, cut_on__range=(since, today))
        .exclude(Exists(mine.filter(ODD)))
        .annotate(was_fresh=Exists(mine.filter(FRESH)))
    )
    rows = frags.values_list(
        "variety_id",
        "cutting_id",
        "cut_on",
        "ready_on",
        Case(When(ready_on__isnull=True, then=F("ended_on"))),
        "was_fresh",
    ).annotate(frags=Count("pk"), pieces=Sum(Case(is_lot, default=1)))
    ordered: QuerySet[Any, Any] = rows.order_by("variety_id", "-cut_on", "cutting_id", "ready_on")
    return ordered.iterator(chunk_size=PORTION)


def spans_of(rows: Iterable[tuple[Any, ...]], *, today: date) -> tuple[list[Span], int]:
    """Return the spans of a variety's latest cuttings, and the days its pieces were followed.

    What was put up as a fresh cut is followed until then and no further.
    """
    spans: list[Span] = []
    cuttings: set[Cut] = set()
    piece_days = 0
    for _, cutting, cut_on, ready_on, ended_on, was_fresh, frags, pieces in rows:
        last = ready_on or ended_on or today
        piece_days += max((last - cut_on).days, 0) * pieces
        key = (cutting or 0, cut_on)
        if key not in cuttings and len(cuttings) >= MOST_CUTTINGS:
            continue
        cuttings.add(key)
        if was_fresh:
            ready_on, ended_on = None, ready_on or ended_on
        spans.append(Span(key, cut_on, ready_on, ended_on, frags))
    return spans, piece_days


def deaths_by_variety(since: date) -> dict[int, int]:
    """Return the pieces of each variety that died before they were ready.

    Queries: 1.
    """
    before = Q(frag__ready_on__isnull=True) | Q(day__lte=F("frag__ready_on"))
    lost = Loss.objects.filter(before, undone=False, frag__cut_on__gte=since)
    rows = lost.filter(frag__arrival__isnull=True).order_by().values_list("variety_id")
    return dict(rows.annotate(Sum("pieces")))


def measured(rows: QuerySet[Measurement]) -> QuerySet[Measurement]:
    """Return the measurements that hold and say how large something is.

    Queries: none until it is read, then 1.
    """
    return rows.filter(replaced_at__isnull=True, diameter_mm__isnull=False)


def sizes_by_variety(since: date) -> Iterator[tuple[Any, ...]]:
    """Yield areas that were measured by variety and frag, the latest frags first.

    Queries: 1, read in portions.
    """
    rows = measured(Measurement.objects.all()).filter(
        area_mm2__isnull=False, frag__cut_on__gte=since, frag__arrival__isnull=True
    )
    rows = rows.exclude(Exists(FragEvent.objects.filter(ODD, frag=OuterRef("frag"))))
    ordered: QuerySet[Any, Any] = rows.order_by("frag__variety", "-frag", "taken_at", "pk")
    return ordered.values_list(
        *("frag__variety", "frag_id", "frag__cutting", "frag__cut_on", "frag__ready_on"),
        *("frag__fresh", "taken_on", "area_mm2", "sigma_area_mm2"),
        *("diameter_mm", "sigma_diameter_mm"),
    ).iterator(chunk_size=PORTION)


def grown_of(rows: Iterable[tuple[Any, ...]]) -> list[Grown]:
    """Return a variety's measured frags with their sizes."""
    found: list[Grown] = []
    for frag, lines in groupby(rows, key=lambda row: row[1]):
        if len(found) >= MOST_MEASURED:
            break
        told = list(lines)
        _, _, cutting, cut_on, ready_on, is_fresh, *_ = told[0]
        sizes = [size_of(*line[6:]) for line in told]
        ready = None if is_fresh else ready_on
        found.append(Grown(frag, (cutting or 0, cut_on), cut_on, ready, sizes))
    return found


def size_of(
    day: date,
    area: float | None,
    sigma_area: float | None,
    across: float | None,
    sigma_across: float | None,
) -> Size:
    """Return a measurement's columns as a size; an error that is not known counts as none."""
    return Size(
        day,
        None if area is None else Known(area, sigma_area or 0.0),
        None if across is None else Known(across, sigma_across or 0.0),
    )


def sizes_of(frag_ids: Iterable[int]) -> dict[int, list[Size]]:
    """Return the sizes of frags that were measured, in order of their days.

    Queries: 1, or none without a frag.
    """
    ids = list(frag_ids)
    found: dict[int, list[Size]] = defaultdict(list)
    if not ids:
        return found
    rows = measured(Measurement.objects.filter(frag__in=ids)).order_by("frag", "taken_at", "pk")
    columns = ("taken_on", "area_mm2", "sigma_area_mm2", "diameter_mm", "sigma_diameter_mm")
    for frag, *size in rows.values_list("frag_id", *columns):
        found[frag].append(size_of(*size))
    return found
