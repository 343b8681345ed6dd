"""Whether the losses that sums are made over are those that the events tell."""

from collections import defaultdict
from collections.abc import Iterator

from fraginv.base.rules.codes import show_code
from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.stock.models import FragEvent, Loss
from fraginv.stock.rules.happenings import Kind

PORTION = 2000


def loss_differences() -> Iterator[Difference]:
    """Yield losses that do not say what their events say, and events without a loss.

    Queries: 2, read in portions.
    """
    undone = undone_events()
    rows = FragEvent.objects.filter(kind=Kind.LOST.value).select_related("loss", "frag")
    for event in rows.order_by("frag_id", "seq").iterator(chunk_size=PORTION):
        code = show_code(event.frag.code_id)
        loss = getattr(event, "loss", None)
        if loss is None:
            yield Difference(code, f"event {event.seq} has no row among the losses")
            continue
        yield from compare(code, loss, event=event, undone=event.seq in undone[event.frag_id])


def undone_events() -> dict[int, set[int]]:
    """Return the numbers of the events of each frag that were taken back.

    Queries: 1.
    """
    found: dict[int, set[int]] = defaultdict(set)
    rows = FragEvent.objects.filter(kind=Kind.UNDONE.value).order_by()
    for frag, body in rows.values_list("frag_id", "body").iterator(chunk_size=PORTION):
        if isinstance(body, dict) and isinstance(body.get("undoes"), int):
            found[frag].add(body["undoes"])
    return found


def compare(code: str, loss: Loss, *, event: FragEvent, undone: bool) -> Iterator[Difference]:
    """Yield how one loss and its event differ."""
    told = {
        "pieces": (loss.pieces, event.body.get("pieces")),
        "cause": (loss.cause, event.body.get("cause")),
        "day": (loss.day, event.day),
        "month": (loss.month, month_of(event.day)),
        "variety": (loss.variety_id, event.frag.variety_id),
        "frag": (loss.frag_id, event.frag_id),
        "age in days": (loss.age_days, max((event.day - event.frag.cut_on).days, 0)),
    }
    for name, (row, said) in told.items():
        if row != said:
            shown = f"{row} {name}" if name == "pieces" else f"{name} {row}"
            yield Difference(code, f"its loss says {shown}, its event {said}")
    if loss.undone != undone:
        row, said = ("is undone", "counts") if loss.undone else ("counts", "is undone")
        yield Difference(code, f"its loss {row}, its events say that it {said}")
