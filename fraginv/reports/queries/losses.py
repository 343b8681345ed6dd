"""Losses of a period, counted by what people ask for."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final

from django.db.models import QuerySet, Sum

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.csv_text import Cell
from fraginv.reports.rules.loss_bars import WAYS, LossReport, Way, merged
from fraginv.stock.models import Cutting, Loss
from fraginv.stock.rules.cutting import TOOLS
from fraginv.stock.rules.stages import CAUSES, MEDIUMS

LOST_BY: Final[Mapping[Way, tuple[str, ...]]] = {
    Way.CAUSE: ("cause",),
    Way.VARIETY: ("variety__name",),
    Way.COLONY: ("colony__variety__name", "colony__code"),
    Way.TROUGH: ("trough__system__name", "trough__name"),
    Way.TOOL: ("frag__cutting__tool",),
    Way.MEDIUM: ("frag__medium",),
    Way.CUTTER: ("frag__cutting__by__name",),
}
CUT_BY: Final[Mapping[Way, tuple[str, ...]]] = {
    Way.VARIETY: ("colony__variety__name",),
    Way.COLONY: ("colony__variety__name", "colony__code"),
    Way.TOOL: ("tool",),
    Way.MEDIUM: ("medium",),
    Way.CUTTER: ("by__name",),
}
NONE_OF: Final[Mapping[Way, str]] = {
    Way.COLONY: "No colony of ours",
    Way.TROUGH: "No known place",
    Way.TOOL: "Not written down",
    Way.CUTTER: "Not cut here",
}
WORDS: Final[Mapping[Way, Mapping[str, str]]] = {
    Way.CAUSE: CAUSES,
    Way.TOOL: TOOLS,
    Way.MEDIUM: MEDIUMS,
}


def loss_report(way: Way, *, first: date, last: date) -> LossReport:
    """Return what was lost in a period, by one way of counting.

    A loss counts on its day unless it was taken back; what was lost at the bench on the day
    of its cutting, and beside the others.
    Queries: 4, or 3 where bench losses have no such name.
    """
    losses = losses_in(first=first, last=last)
    cuttings = Cutting.objects.filter(day__range=(first, last))
    lost = [
        (name_of(way, key), pieces)
        for *key, pieces in losses.values_list(*LOST_BY[way]).annotate(total=Sum("pieces"))
    ]
    bench: list[tuple[str, int, int]] = []
    if way in CUT_BY:
        sums = cuttings.order_by().values_list(*CUT_BY[way])
        for *key, dead, cut in sums.annotate(dead=Sum("lost"), cut=Sum("pieces")):
            bench.append((name_of(way, key), dead, cut))
    return LossReport(
        way=way,
        first=first,
        last=last,
        rows=merged(lost, bench),
        lost=losses.aggregate(n=Sum("pieces", default=0))["n"],
        bench=cuttings.aggregate(n=Sum("lost", default=0))["n"],
    )


def losses_in(*, first: date, last: date) -> QuerySet[Loss]:
    """Return the losses that count in a period, in no order.

    Queries: none until it is read, then 1.
    """
    return Loss.objects.filter(day__range=(first, last), undone=False).order_by()


def name_of(way: Way, key: list[Any]) -> str:
    """Return the name of what losses were counted by."""
    if not any(key):
        return NONE_OF.get(way, "Not known")
    if way is Way.COLONY:
        variety, code = key
        return f"{variety} {show_code(code)}"
    known = WORDS.get(way, {})
    return ", ".join(known.get(part, part) for part in key if part)


def report_rows(report: LossReport) -> Iterator[list[Cell]]:
    """Yield the report as a table, its sum last.

    Queries: none.
    """
    for row in report.rows:
        yield (
            [row.name, row.lost, row.bench, row.cut]
            if report.tells_bench
            else [
                row.name,
                row.lost,
            ]
        )
    yield ["Total", report.lost, report.bench] if report.tells_bench else ["Total", report.lost]


def headings_of(report: LossReport) -> list[str]:
    """Return what stands above the columns of the report's table."""
    first = [WAYS[report.way].lower(), "lost in the troughs"]
    return [*first, "lost at the bench", "cut"] if report.tells_bench else first
