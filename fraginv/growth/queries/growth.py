"""How a frag grew: its sizes, the steps between them, and pictures in one scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.growth.models import Measurement
from fraginv.growth.queries.expected import Expected, expected_with
from fraginv.growth.queries.histories import size_of
from fraginv.growth.queries.pictured import Pictured, pictured
from fraginv.growth.rules.growth import Size, step_between, times
from fraginv.growth.rules.growth_chart import Picture, draw_growth
from fraginv.growth.rules.said import StepWords, say_step, with_error
from fraginv.stock.models import Frag

# So many sizes are shown, the latest.
MOST_SIZES: Final = 40
# The whole is said beside the steps from so many sizes on.
WHOLE_FROM: Final = 3


@dataclass(frozen=True)
class SizeRow:
    """One size in words, and the growth since the one before."""

    measurement: Measurement
    area: str
    diameter: str
    since: StepWords | None


@dataclass(frozen=True)
class GrowthPage:
    """All that is known of how a frag grew, the latest size first.

    ``whole`` is the growth from the first size to the last; ``more`` is whether there are
    earlier ones that are not shown.
    """

    frag: Frag
    rows: Sequence[SizeRow]
    whole: StepWords | None
    chart: Picture | None
    pictured: Pictured | None
    expected: Expected | None
    more: bool


def growth_page(frag: Frag, *, today: date) -> GrowthPage:
    """Return how a frag that was read with its variety grew.

    Queries: 1, and 1 more where it is not ready yet.
    """
    rows = Measurement.objects.filter(frag=frag, replaced_at__isnull=True)
    along = rows.select_related("photo__file", "photo__part_of")
    found = list(along.order_by("-taken_at", "-pk")[: MOST_SIZES + 1])
    kept = found[:MOST_SIZES][::-1]
    wide = [size_in(one) for one in kept if one.diameter_mm is not None]
    begun = min([frag.cut_on, *(one.day for one in wide)])
    if frag.arrival_id is not None and wide:
        begun = wide[0].day
    whole = step_between(wide[0], wide[-1]) if len(wide) >= WHOLE_FROM else None
    return GrowthPage(
        frag=frag,
        rows=rows_of(kept)[::-1],
        whole=say_step(whole) if whole is not None else None,
        chart=draw_growth(wide, since=begun),
        pictured=pictured(kept),
        expected=expected_with(frag, sizes=wide, today=today),
        more=len(found) > MOST_SIZES,
    )


def size_in(row: Measurement) -> Size:
    """Return a measurement as a size."""
    return size_of(
        row.taken_on, row.area_mm2, row.sigma_area_mm2, row.diameter_mm, row.sigma_diameter_mm
    )


def rows_of(rows: Sequence[Measurement]) -> list[SizeRow]:
    """Put sizes in their order into words, each with the growth since the one before.

    Where heads alone were counted there is no growth to tell.
    """
    found: list[SizeRow] = []
    before: Size | None = None
    for row in rows:
        size = size_in(row)
        is_wide = size.diameter is not None
        since = say_step(step_between(before, size)) if before and is_wide else None
        area = times(size.area, 0.01) if size.area is not None else None
        found.append(SizeRow(row, with_error(area, 2), with_error(size.diameter, 1), since))
        before = size if is_wide else before
    return found
