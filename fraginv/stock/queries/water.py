"""Reading the water log, and the losses of the same water."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Avg, Count, Max, Min, Q, QuerySet, Sum

from fraginv.base.errors import NotFound
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.csv_text import Cell
from fraginv.stock.models import Loss, System, Trough, WaterEntry
from fraginv.stock.rules.water import HAPPENED, MEASURES, WaterKind, name_of_kind, unit_of
from fraginv.stock.rules.water_lines import DayValue, Drawn, draw_lines

HEADINGS = (
    *("day", "time", "system", "trough", "kind", "value", "unit", "text", "by", "struck out"),
)
PORTION = 2000
MARKS = 60


@dataclass(frozen=True)
class Water:
    """A system, or one trough of it."""

    system: System
    trough: Trough | None = None

    @property
    def key(self) -> str:
        """Return how an address names it."""
        return f"trough-{self.trough.pk}" if self.trough else f"system-{self.system.pk}"

    @property
    def name(self) -> str:
        """Return its name."""
        return f"{self.system.name}: {self.trough.name}" if self.trough else self.system.name


@dataclass(frozen=True)
class Line:
    """One measured kind in a period: its picture, and what it ranged between."""

    kind: str
    name: str
    unit: str
    low: float
    high: float
    latest: DayValue
    drawn: Drawn


@dataclass(frozen=True)
class WaterPage:
    """The log of a water in a period, with the losses there."""

    water: Water
    first: date
    last: date
    lines: Sequence[Line]
    lost: int
    happened: Sequence[WaterEntry]


def water_named(key: str) -> Water:
    """Return the water that an address names; the first system where it names none.

    Raises: NotFound.
    Queries: 1.
    """
    kind, _, number = key.partition("-")
    found: Water | None = None
    if not key:
        first = System.objects.order_by("quarantine", "name").first()
        found = Water(first) if first else None
    elif number.isascii() and number.isdecimal() and len(number) < 16:
        if kind == "system":
            system = System.objects.filter(pk=int(number)).first()
            found = Water(system) if system else None
        if kind == "trough":
            trough = Trough.objects.select_related("system").filter(pk=int(number)).first()
            found = Water(trough.system, trough) if trough else None
    if found is None:
        raise NotFound("There is no such water. Write a system down under Places first.")
    return found


def entries_of(water: Water) -> QuerySet[WaterEntry]:
    """Return what stands in the log of a water, that of a trough with its whole system's.

    Queries: none until it is read, then 1.
    """
    rows = WaterEntry.objects.filter(system=water.system)
    if water.trough is None:
        return rows
    return rows.filter(Q(trough=water.trough) | Q(trough__isnull=True))


def in_period(rows: QuerySet[WaterEntry], *, first: date, last: date) -> QuerySet[WaterEntry]:
    """Return the entries of days; their moments are bounded too, as an index has those."""
    begin = datetime.combine(first - timedelta(days=1), time(), UTC)
    end = datetime.combine(last + timedelta(days=2), time(), UTC)
    return rows.filter(day__range=(first, last), at__range=(begin, end))


def entry_list(water: Water, *, size: int, after: int | None) -> Portion[WaterEntry]:
    """Return a page of a water's log, the latest first, also what is struck out.

    Raises: NotFound for a page that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = entries_of(water).select_related("trough", "by")
    return portion_of(rows, order=["-at", "-pk"], size=size, after=after)


def water_page(water: Water, *, first: date, last: date) -> WaterPage:
    """Return a line for each kind that was measured in a period, over the losses there.

    Values are put together by day in the database.
    Queries: 3.
    """
    standing = in_period(entries_of(water), first=first, last=last).filter(struck_at__isnull=True)
    losses = losses_by_day(water, first=first, last=last)
    happened = list(standing.filter(kind__in=list(HAPPENED)).select_related("trough", "by")[:MARKS])
    marked = sorted({entry.day for entry in happened})
    lines = []
    for kind, values in by_day(standing).items():
        drawn = draw_lines(values, losses=losses, marked=marked, first=first, last=last)
        low, high = min(one.low for one in values), max(one.high for one in values)
        name, unit = name_of_kind(kind), unit_of(kind)
        lines.append(Line(kind, name, unit, low, high, values[-1], drawn))
    return WaterPage(water, first, last, lines, sum(losses.values()), happened)


def by_day(standing: QuerySet[WaterEntry]) -> dict[str, list[DayValue]]:
    """Return the values of each measured kind by day, kinds in the order of their table.

    Queries: 1.
    """
    rows = standing.filter(value__isnull=False).order_by("day").values_list("kind", "day")
    found: dict[str, list[DayValue]] = defaultdict(list)
    summed = rows.annotate(mean=Avg("value"), low=Min("value"), high=Max("value"), n=Count("pk"))
    for kind, day, mean, low, high, _ in summed:
        found[kind].append(DayValue(day, float(mean), float(low), float(high)))
    order = [kind.value for kind in MEASURES]
    return {kind: found[kind] for kind in order if kind in found}


def losses_by_day(water: Water, *, first: date, last: date) -> dict[date, int]:
    """Return the pieces that were lost in a water, by day.

    Queries: 1.
    """
    rows = Loss.objects.filter(day__range=(first, last), undone=False)
    there = (
        rows.filter(trough=water.trough)
        if water.trough
        else rows.filter(trough__system=water.system)
    )
    return dict(there.order_by("day").values_list("day").annotate(Sum("pieces")))


def rows_out(water: Water, *, first: date, last: date, zone: str) -> Iterator[list[Cell]]:
    """Yield the log of a water in a period as a table, the oldest first.

    Queries: 1, read in portions.
    """
    rows = in_period(entries_of(water), first=first, last=last).select_related("trough", "by")
    for entry in rows.order_by("at", "pk").iterator(chunk_size=PORTION):
        yield [
            entry.day,
            f"{entry.at.astimezone(ZoneInfo(zone)):%H:%M:%S}",
            water.system.name,
            entry.trough.name if entry.trough else "",
            WaterKind(entry.kind).value,
            entry.value,
            unit_of(entry.kind),
            entry.text,
            entry.by.name,
            "yes" if entry.struck_at else "",
        ]
