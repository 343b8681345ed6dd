"""What does not agree among sizes that were measured, their outlines, and the frags' logs."""

from collections.abc import Iterator
from typing import Final

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.differences import Difference
from fraginv.growth.models import Measurement
from fraginv.growth.rules.outlines import area_mm2
from fraginv.stock.models import FragEvent
from fraginv.stock.rules.happenings import Kind

PORTION: Final = 1_000
# A stored outline has fewer points than the one that was measured.
STORED_WITHIN: Final = 0.002


def size_differences() -> Iterator[Difference]:
    """Yield sizes that are not what their outline encloses, not those of their photo's frag, or
    of a photo that was taken out, and logs that name no such size or leave one out.

    Queries: 2, read in portions.
    """
    rows = Measurement.objects.select_related("photo", "frag").order_by("pk")
    kept: dict[int, tuple[str, float | None]] = {}
    for row in rows.iterator(chunk_size=PORTION):
        kept[row.pk] = (row.frag.code_id, row.area_mm2)
        where = f"measurement {row.pk} of {show_code(row.frag.code_id)}"
        if row.photo.frag_id != row.frag_id:
            yield Difference(where, f"its photo {row.photo_id} is not of that frag")
        if row.replaced_at is None and row.photo.withdrawn_at is not None:
            yield Difference(where, f"it counts, and its photo {row.photo_id} was taken out")
        if row.area_mm2 is not None and not is_enclosed(row):
            yield Difference(where, f"its outline does not enclose {row.area_mm2:.1f} mm²")
    yield from logged_differences(kept)


def is_enclosed(row: Measurement) -> bool:
    """Tell whether a size is that of its stored outline."""
    try:
        enclosed = area_mm2(row.outline_mm)
    except (TypeError, ValueError):
        return False
    return row.area_mm2 is not None and abs(enclosed / row.area_mm2 - 1) < STORED_WITHIN


def logged_differences(kept: dict[int, tuple[str, float | None]]) -> Iterator[Difference]:
    """Yield sizes that a frag's log names otherwise, and those that no log names.

    Args: each measurement's code and area.
    Queries: 1.
    """
    logged = FragEvent.objects.filter(kind=Kind.SIZED.value).order_by("frag", "seq")
    named = set()
    for code, seq, body in logged.values_list("frag__code", "seq", "body").iterator():
        told = body if isinstance(body, dict) else {}
        number, area = told.get("measurement"), told.get("area_mm2")
        named.add(number)
        if number not in kept or kept[number][0] != code:
            what = f"event {seq} says that it was measured ({number}), and there is no such size"
            yield Difference(show_code(code), what)
        elif not is_alike(kept[number][1], area):
            what = f"event {seq} says {area} mm², and measurement {number} {kept[number][1]} mm²"
            yield Difference(show_code(code), what)
    for number, (code, _) in kept.items():
        if number not in named:
            what = f"has measurement {number}, and its log does not say so"
            yield Difference(show_code(code), what)


def is_alike(kept: float | None, told: object) -> bool:
    """Tell whether an area is the one that a log tells, which is rounded to a hundredth."""
    if kept is None or not isinstance(told, int | float):
        return kept is None and told is None
    return abs(kept - told) <= 0.0051
