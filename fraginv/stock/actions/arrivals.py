"""Receiving pieces that come in from elsewhere."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from fraginv.base import clock
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Party, Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.money import LARGEST
from fraginv.base.transactions import one_transaction
from fraginv.stock.actions.cuttings import check_medium, codes_for
from fraginv.stock.actions.log import When, note_first, when
from fraginv.stock.actions.rack_locks import rack_in_use
from fraginv.stock.models import Arrival, Frag, Rack, Variety
from fraginv.stock.queries.varieties import pace_of
from fraginv.stock.rules.colonies import (
    ARRIVING,
    LONGEST_PAPER,
    NOT_OURS,
    Origin,
    check_source_code,
    read_words,
)
from fraginv.stock.rules.cutting import MOST_PIECES, check_day, check_pieces
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.ready import heal_by, likely_on
from fraginv.stock.rules.stages import Stage

LONGEST_NOTE: Final = 300


@dataclass(frozen=True)
class Incoming:
    """Pieces of one variety that come in: each with a code, or one lot of all."""

    variety: Variety
    pieces: int
    lot: bool = False


@dataclass(frozen=True)
class Papers:
    """From whom pieces come, and on what papers."""

    supplier: Party | None = None
    invoice: str = ""
    permit: str = ""
    source_code: str = ""
    note: str = field(default="")


@one_transaction
def receive_pieces(
    items: Sequence[Incoming],
    *,
    rack: Rack,
    by: Person,
    origin: str = Origin.BOUGHT,
    papers: Papers | None = None,
    cost: int | None = None,
    day: date | None = None,
    medium: str = "plug",
    first_code: str = "",
    no_quarantine_because: str = "",
) -> Arrival:
    """Take in pieces that were grown elsewhere, growing, into a rack of quarantine.

    What is on loan or held for an authority is kept back from sale.
    Args: ``cost`` of all together in minor units; ``first_code`` is the first of a run
        printed ahead; into the display's water only with ``no_quarantine_because``.
    Raises: InputError for numbers, papers or a day that cannot be; Conflict for a rack in
        the display's water without a reason.
    Queries: 9, and on SQLite 1 more for about each 25 labels.
    """
    moment, papers = when(day), papers or Papers()
    check_arrival(items, origin=origin, papers=papers, cost=cost, medium=medium)
    check_day(moment.day, today=today())
    reason = read_words(no_quarantine_because, what="reason")
    rack = rack_in_use(rack) or rack
    refuse_display(rack, origin=origin, reason=reason)
    codes = codes_for(sum(1 if item.lot else item.pieces for item in items), first=first_code)
    count = sum(item.pieces for item in items)
    columns = {"origin": origin, "pieces": count, "cost": cost} | told_by(papers)
    arrival = Arrival.objects.create(
        day=moment.day, month=moment.month, by=by, recorded_at=clock.now(), **columns
    )
    frags = list(frags_of(items, arrival=arrival, rack=rack, medium=medium))
    for frag, code in zip(frags, codes, strict=True):
        frag.code = code
    note_arrived(Frag.objects.bulk_create(frags, batch_size=500), moment=moment, by=by, why=reason)
    return arrival


def told_by(papers: Papers) -> dict[str, Any]:
    """Return the columns of an arrival that its papers fill.

    Raises: InputError for words that are too long.
    """
    return {
        "supplier": papers.supplier,
        "invoice": read_words(papers.invoice, longest=LONGEST_PAPER, what="invoice"),
        "permit": read_words(papers.permit, longest=LONGEST_PAPER, what="permit"),
        "source_code": papers.source_code,
        "note": read_words(papers.note, longest=LONGEST_NOTE, what="note"),
    }


def check_arrival(
    items: Sequence[Incoming], *, origin: str, papers: Papers, cost: int | None, medium: str
) -> None:
    """Refuse an arrival that cannot be.

    Raises: InputError.
    """
    if not items:
        raise InputError("Say what came in: a variety, and how many pieces.")
    for item in items:
        check_pieces(item.pieces)
    total = sum(item.pieces for item in items)
    if total > MOST_PIECES:
        raise InputError(
            f"{total:,} pieces: at most {MOST_PIECES} are received at once. "
            "Write the rest down as another arrival."
        )
    if origin not in ARRIVING:
        raise InputError(f"{origin!r}: pieces come in as one of {', '.join(ARRIVING)}.")
    check_source_code(papers.source_code)
    check_medium(medium)
    if cost is not None and not 1 <= cost <= LARGEST:
        raise InputError("The cost must be more than nothing, or be left empty.")


def refuse_display(rack: Rack, *, origin: str, reason: str) -> None:
    """Refuse to put what is new into the display's water without a reason.

    What broke off in the display has lived in that water.
    Raises: Conflict.
    """
    if rack.trough.system.quarantine or reason or origin == Origin.BROKEN_OFF:
        return
    raise Conflict(
        f"{rack} shares water with the display. Choose a rack in quarantine, "
        "or write down why these pieces need none."
    )


def frags_of(
    items: Sequence[Incoming], *, arrival: Arrival, rack: Rack, medium: str
) -> Iterator[Frag]:
    """Yield the frags of an arrival without their codes."""
    away, day = rack.trough.system.quarantine, arrival.day
    for item in items:
        pace, pieces = pace_of(item.variety), item.pieces if item.lot else 1
        for _ in range(1 if item.lot else item.pieces):
            yield Frag(
                variety=item.variety,
                arrival=arrival,
                is_lot=item.lot,
                medium=medium,
                pieces=pieces,
                free=pieces,
                stage=Stage.GROWING.value,
                rack=rack,
                quarantined=away,
                quarantined_on=day if away else None,
                kept_back=arrival.origin in NOT_OURS,
                cut_on=day,
                seen_on=day,
                heal_by=heal_by(day, pace=pace),
                likely_on=likely_on(day, pace=pace),
                last_seq=1,
            )


def note_arrived(frags: Sequence[Frag], *, moment: When, by: Person, why: str) -> None:
    """Write the first event of frags that came in."""
    bodies: list[dict[str, Any]] = []
    for frag in frags:
        body: dict[str, Any] = {
            "arrival": frag.arrival_id,
            "pieces": frag.pieces,
            "stage": frag.stage,
            "quarantined": frag.quarantined,
            "rack": frag.rack_id,
        }
        body |= {"kept": True} if frag.kept_back else {}
        bodies.append(body | ({"note": f"no quarantine: {why}"} if why else {}))
    note_first(frags, Kind.RECEIVED, moment=moment, by=by, bodies=bodies)


@one_transaction
def set_cost(arrival_id: int, *, cost: int, by: Person) -> Arrival:
    """Write down what an arrival cost, once.

    Raises: InputError for an amount that cannot be; Conflict where it is known already.
    Queries: 2.
    """
    if not 1 <= cost <= LARGEST:
        raise InputError("The cost must be more than nothing.")
    if not Arrival.objects.filter(pk=arrival_id, cost__isnull=True).update(cost=cost):
        raise Conflict("What these pieces cost is written down already.")
    return Arrival.objects.select_related("supplier").get(pk=arrival_id)
