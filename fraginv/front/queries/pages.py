"""What the crew's pages of a frag, a colony, a rack and a cutting show."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple
from urllib.parse import urlencode

from fraginv.base import clock
from fraginv.base.models import Person
from fraginv.base.queries.organisation import today
from fraginv.base.rules.cautions import Caution
from fraginv.base.rules.codes import show_code
from fraginv.base.rules.roles import Right
from fraginv.front.queries.rows import FragRow, flags_of, how_it_began, listed, rows_of
from fraginv.front.rules.log import SOMEBODY, Names, describe
from fraginv.front.rules.words import age_words
from fraginv.growth.models import Photo
from fraginv.growth.queries.expected import Expected, expected_of
from fraginv.growth.queries.measuring import sizes_of
from fraginv.growth.queries.photos import latest_photos_of
from fraginv.growth.rules.drawn import said_of
from fraginv.stock.models import Arrival, Claim, Colony, Cutting, Frag, Loss, Rack, StopSale
from fraginv.stock.queries.cautions import poison_cautions
from fraginv.stock.queries.frags import (
    Logged,
    claims_on,
    free_pieces,
    is_open_hold,
    is_stopped,
    log_of,
    not_for_sale,
)
from fraginv.stock.queries.losses import loss_to_undo
from fraginv.stock.queries.places import every_rack
from fraginv.stock.queries.stops import stops_of
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.rounds import later_of
from fraginv.stock.rules.stages import Stage
from fraginv.trade.queries.prices import retail_price
from fraginv.trade.rules.prices import Chosen

# What tells of other frags, and where.
PARTING = (Kind.SPLIT, Kind.JOINED)
OTHERS = ("from", "with", "into")


@dataclass(frozen=True)
class LogLine:
    """One thing that happened to a frag, in words."""

    at: datetime
    text: str
    by: str


@dataclass(frozen=True)
class Hold:
    """One hold that is alive, for whom as far as the reader may know.

    ``sell_query`` is what the page that sells needs to begin with it.
    """

    claim: Claim
    holder: str
    sell_query: str


class Shot(NamedTuple):
    """A photo, and the size that was measured in it in words; empty where none was."""

    photo: Photo
    said: str


@dataclass(frozen=True)
class FragPage:
    """All that the crew sees of a frag."""

    frag: Frag
    age: str
    free: int
    flags: Sequence[str]
    not_for_sale: str
    holds: Sequence[Hold]
    photos: Sequence[Photo]
    log: Sequence[LogLine]
    undo: Loss | None
    stops: Sequence[StopSale]
    kept_as: str
    to_print: Sequence[str]
    price: Chosen | None
    expected: Expected | None
    is_measured: bool
    cautions: Sequence[Caution]
    measured: Mapping[int, str] = field(default_factory=dict)

    @property
    def shots(self) -> list[Shot]:
        """Return its photos with what was measured in each."""
        return [Shot(photo, self.measured.get(photo.pk, "")) for photo in self.photos]

    @property
    def began(self) -> str:
        """Say what the day is on which it begins: that it was cut, or received."""
        return how_it_began(self.frag)

    @property
    def seen_on(self) -> date | None:
        """Return the day on which it, or all in its rack, was last looked at."""
        return later_of(self.frag.seen_on, self.frag.rack.seen_on if self.frag.rack else None)


class Other(NamedTuple):
    """Another frag that a log names; ``lacks_label`` is whether it lives and was never printed."""

    pk: int
    code: str
    lacks_label: bool


@dataclass(frozen=True)
class FragsPage:
    """A rack or a cutting with its frags."""

    rows: Sequence[FragRow]
    pieces: int


def frag_page(frag: Frag, *, reader: Person) -> FragPage:
    """Return what a person may see of a frag that was read by its code.

    Queries: 1; and 1 each where there are claims, photos, sizes, and racks and other frags that
        the log names, a loss, the colony it is kept as, and 2 for a stop-sale; 1 for the price;
        while it is not ready 1 for when it will be, and 1 more where it was measured.
    """
    events = log_of(frag)
    claims = claims_on(frag) if any(event.body.get("claim") for event in events) else []
    has_photos = any(event.kind == Kind.PHOTOGRAPHED for event in events)
    photos = latest_photos_of(frag) if has_photos else []
    was_sized = any(event.kind == Kind.SIZED for event in events)
    free = free_pieces(frag)
    others = frags_in(events)
    sees_customers = reader.can(Right.SEE_CUSTOMERS)
    names = Names(
        racks=racks_in(events, known=frag.rack),
        frags={other.pk: show_code(other.code) for other in others},
        holders={claim.pk: claim.holder for claim in claims if sees_customers},
    )
    holds = [claim for claim in claims if is_open_hold(claim, at=clock.now())]
    return FragPage(
        frag=frag,
        age=age_words(frag.cut_on, today=today()),
        free=free,
        flags=flags_of(frag, free=free),
        not_for_sale=not_for_sale(frag),
        holds=[hold_of(hold, sees_customers=sees_customers) for hold in holds],
        photos=photos,
        measured={pk: said_of(size) for pk, size in sizes_of(photos).items()} if was_sized else {},
        log=[log_line(event, names) for event in events],
        undo=loss_to_undo(frag) if any(event.kind == Kind.LOST for event in events) else None,
        stops=list(stops_of(frag)) if is_stopped(frag) else [],
        kept_as=kept_as(events) if frag.stage == Stage.KEPT else "",
        to_print=[other.code for other in others if other.lacks_label and came_from(other, events)],
        price=retail_price(frag, day=today()) if reader.can(Right.SEE_PRICES) else None,
        expected=expected_of(frag, today=today(), measured=was_sized),
        is_measured=was_sized,
        cautions=poison_cautions(frag.variety.genus),
    )


def kept_as(events: Iterable[Logged]) -> str:
    """Return the code of the colony as which a frag was kept, the latest event coming first.

    Queries: 1 where one was.
    """
    kept = next((event.body.get("colony") for event in events if event.kind == Kind.KEPT), None)
    codes = Colony.objects.filter(pk=kept).values_list("code_id", flat=True) if kept else ()
    return next(iter(codes), "")


def hold_of(claim: Claim, *, sees_customers: bool) -> Hold:
    """Return a hold read with its party and customer, as far as the reader may know it."""
    if not sees_customers:
        return Hold(claim, SOMEBODY, "")
    customer = getattr(claim.party, "customer", None)
    whom = {"customer": customer.pk} if customer else {"name": claim.holder}
    return Hold(claim, claim.holder, urlencode(whom))


def log_line(event: Logged, names: Names) -> LogLine:
    """Put an event into words."""
    return LogLine(event.at, describe(event.kind, event.body, names=names), event.by)


def racks_in(events: Iterable[Logged], *, known: Rack | None) -> dict[int, str]:
    """Return the names of the racks that events hold ids of.

    Args: ``known`` is a rack that was read with its trough and system.
    Queries: 1 where others are named.
    """
    named = {known.pk: str(known)} if known is not None else {}
    others = {event.body["rack"] for event in events if event.body.get("rack")} - set(named)
    return named | (
        {rack.pk: str(rack) for rack in every_rack().filter(pk__in=others)} if others else {}
    )


def came_from(other: Other, events: Iterable[Logged]) -> bool:
    """Tell whether another frag left the one whose events these are."""
    told = (event.body.get("into") for event in events if event.kind == Kind.SPLIT)
    return any(isinstance(into, list) and other.pk in into for into in told)


def frags_in(events: Iterable[Logged]) -> list[Other]:
    """Return the other frags that events hold ids of.

    Queries: 1 where any is named.
    """
    told = [event.body for event in events if event.kind in PARTING]
    ids = {body[name] for body in told for name in OTHERS if isinstance(body.get(name), int)}
    ids |= {one for body in told if isinstance(body.get("into"), list) for one in body["into"]}
    if not ids:
        return []
    named = Frag.objects.filter(pk__in=ids).order_by("pk")
    rows = named.values_list("pk", "code_id", "pieces", "code__printed_at")
    return [Other(pk, code, bool(pieces) and at is None) for pk, code, pieces, at in rows]


def arrival_page(arrival: Arrival) -> FragsPage:
    """Return all frags that came in together, in the order of their labels.

    Queries: 1.
    """
    rows = rows_of(listed().filter(arrival=arrival).order_by("pk"))
    return FragsPage(rows, sum(row.frag.pieces for row in rows))


def cutting_page(cutting: Cutting) -> FragsPage:
    """Return all frags of a cutting, in the order of their labels.

    Queries: 1.
    """
    rows = rows_of(listed().filter(cutting=cutting).order_by("pk"))
    return FragsPage(rows, sum(row.frag.pieces for row in rows))
