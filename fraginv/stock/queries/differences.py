"""Whether what stands in the rows is what the events add up to."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from itertools import groupby

from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce

from fraginv.base.queries.tallies import tally_differences
from fraginv.base.queries.words import word_differences
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.days import month_of
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.tallies import Tallies
from fraginv.stock.models import Cutting, Frag, FragEvent, Rack, System, Trough
from fraginv.stock.queries import places
from fraginv.stock.queries.bars import bar_differences
from fraginv.stock.queries.frags import state_of
from fraginv.stock.queries.loss_differences import loss_differences
from fraginv.stock.queries.papers import paper_differences
from fraginv.stock.queries.racks import rack_differences
from fraginv.stock.queries.stops import stop_tallies
from fraginv.stock.queries.tallies import UNFOLLOWED, count_log
from fraginv.stock.queries.varieties import KIND, names_of, varieties
from fraginv.stock.rules.happenings import FragState, Kind
from fraginv.stock.rules.tallies import STAGE, STOCK, STOP


def stock_differences() -> Iterator[Difference]:
    """Replay every frag and compare; compare holds with what is not free.

    Queries: 15, read in portions.
    """
    yield from replay_differences()
    yield from free_differences()
    yield from loss_differences()
    yield from tally_differences(stop_tallies(), under=(STOP,))
    yield from cutting_differences()
    yield from word_differences(names_of(varieties().iterator()), kind=KIND)
    yield from place_differences()
    yield from rack_differences()
    yield from bar_differences()
    yield from paper_differences()


def place_differences() -> Iterator[Difference]:
    """Yield systems, troughs and racks that are not found by their names, or by others.

    Queries: 6.
    """
    troughs = Trough.objects.select_related("system").iterator()
    racks = Rack.objects.select_related("trough__system").iterator()
    systems = System.objects.iterator()
    yield from word_differences(places.names_of_systems(systems), kind=places.SYSTEM)
    yield from word_differences(places.names_of_troughs(troughs), kind=places.TROUGH)
    yield from word_differences(places.names_of_racks(racks), kind=places.RACK)


def replay_differences() -> Iterator[Difference]:
    """Yield frags whose row is not what their events lead to, or whose log has a gap.

    Then the sums kept of the stock that are not what the events add up to.
    """
    counted = Tallies()
    events = FragEvent.objects.order_by("frag_id", "seq").iterator(chunk_size=2000)
    logs = groupby(events, key=lambda event: event.frag_id)
    log_id, log = next(logs, (None, None))
    for frag in Frag.objects.order_by("pk").iterator(chunk_size=2000):
        if log is None or log_id != frag.pk:
            yield Difference(show_code(frag.code_id), "it has no events")
            continue
        yield from compare(frag, list(log), counted=counted)
        log_id, log = next(logs, (None, None))
    yield from tally_differences(counted, under=(STAGE, STOCK))


def compare(frag: Frag, log: list[FragEvent], *, counted: Tallies) -> Iterator[Difference]:
    """Yield how one frag's row and its events differ; add the events to what is counted."""
    code = show_code(frag.code_id)
    if [event.seq for event in log] != list(range(1, frag.last_seq + 1)):
        yield Difference(code, f"its events are not numbered 1 to {frag.last_seq}")
        return
    try:
        for event in log:
            if event.digest != event.content_digest():
                what = f"event {event.seq} ({event.kind}) was changed after it was written"
                yield Difference(code, what)
        told = count_log(log, counted=counted)
    except UNFOLLOWED as error:
        yield Difference(code, f"its events cannot be followed: {error}")
        return
    yield from compare_states(code, row=state_of(frag), told=told)


def compare_states(code: str, *, row: FragState, told: FragState) -> Iterator[Difference]:
    """Yield each column that is not what the events say."""
    events = asdict(told)
    for name, value in asdict(row).items():
        if value != events[name]:
            yield Difference(code, f"{name} is {value!r}, its events say {events[name]!r}")


def free_differences() -> Iterator[Difference]:
    """Yield frags whose pieces that are not free are not those of its open holds."""
    open_hold = Q(claims__ended_at__isnull=True) & ~Q(claims__kind="sale")
    held = Coalesce(Sum("claims__pieces", filter=open_hold), 0)
    frags = Frag.objects.annotate(held=held).exclude(held=F("pieces") - F("free"))
    for frag in frags.order_by("pk").iterator(chunk_size=2000):
        yield Difference(
            show_code(frag.code_id),
            f"free is {frag.free} of {frag.pieces} pieces, and holds have {frag.held}",
        )


def cutting_differences() -> Iterator[Difference]:
    """Yield cuttings that do not say what the first events of their frags say, or the reverse."""
    cut = pieces_cut()
    for cutting in Cutting.objects.order_by("pk").iterator(chunk_size=2000):
        where = f"cutting {cutting.pk}"
        if cut[cutting.pk] != cutting.pieces:
            told = cut[cutting.pk]
            yield Difference(where, f"{cutting.pieces} pieces, its frags' events say {told}")
        if cutting.month != month_of(cutting.day):
            yield Difference(where, f"its day is {cutting.day}, its month {cutting.month}")
    as_made = Q(is_lot=F("cutting__as_lot")) | Q(split_from__isnull=False)
    strange = Frag.objects.filter(cutting__isnull=False).exclude(
        as_made,
        cut_on=F("cutting__day"),
        colony=F("cutting__colony"),
        variety=F("cutting__colony__variety"),
    )
    for frag in strange.order_by("pk").iterator(chunk_size=2000):
        yield Difference(show_code(frag.code_id), f"it is not as cutting {frag.cutting_id} made it")


def pieces_cut() -> Counter[int]:
    """Return the pieces of each cutting as its frags' first events say.

    Queries: 1.
    """
    found: Counter[int] = Counter()
    first = FragEvent.objects.filter(kind=Kind.CUT.value).order_by()
    for cutting, body in first.values_list("frag__cutting", "body").iterator(chunk_size=2000):
        count = body.get("pieces") if isinstance(body, dict) else None
        found[cutting] += count if isinstance(count, int) else 0
    return found
