"""What a picture in the tray may show, to be filed with one tap."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from fraginv.base.rules.codes import CodeError, read_code
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.tray import whole_photos
from fraginv.growth.rules.intake import State
from fraginv.growth.rules.proposing import (
    Proposal,
    best,
    by_label,
    by_scan,
    by_sequence,
    by_work,
    next_hole,
)
from fraginv.stock.models import Colony, Frag, FragEvent, Rack
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.happenings import Kind

# Beyond these somebody has done much else since.
EVENTS: Final = 300


@dataclass(frozen=True)
class Proposed:
    """One thing that a picture may show: its code, name and place, and why it is proposed."""

    code: str
    name: str
    place: str
    why: str


def proposals_for(incoming: Incoming) -> list[Proposed]:
    """Return what a picture may show, the likeliest first, read with batch, rack and file.

    Queries: 9 at most, whatever the stock: scans and labels none, work 1, the sequence 3 and
        1 for each of two racks, names 3.
    """
    at, batch = incoming.taken_at, incoming.batch
    read = list(dict.fromkeys(label["code"] for label in incoming.labels))
    found = best(
        by_label(read),
        by_scan(scanned_in(batch.scanned), taken_at=at),
        by_neighbours(incoming),
        by_work(work_of(incoming), taken_at=at) if at else (),
        [Proposal(batch.rack.code_id, "a photo of the whole rack")] if batch.rack else (),
    )
    return [*named(found), *racks_shown(read, known={one.code for one in found})]


def scanned_in(scanned: Iterable[Sequence[str]]) -> list[tuple[str, datetime]]:
    """Return the codes that a phone had scanned, each with when; what cannot be read is left out.

    Queries: none.
    """
    found = []
    for text, moment in scanned:
        try:
            found.append((read_code(text), datetime.fromisoformat(moment)))
        except (CodeError, ValueError):
            continue
    return [one for one in found if one[1].tzinfo is not None]


def work_of(incoming: Incoming) -> list[tuple[str, datetime]]:
    """Return what whoever sent a picture had in hand lately, the latest first.

    Photos are left out: the others of the batch tell more by their sequence.
    Queries: 1.
    """
    work = FragEvent.objects.filter(by=incoming.batch.by_id).exclude(kind=Kind.PHOTOGRAPHED)
    return list(work.order_by("-pk").values_list("frag__code_id", "at")[:EVENTS])


def by_neighbours(incoming: Incoming) -> list[Proposal]:
    """Propose by the pictures before and after one in its batch.

    Queries: 2, and 1 for what they show, and 1 for each rack that this stands in.
    """
    found = []
    pairs = [(True, beside_in_time(incoming, follows=True))]
    pairs.append((False, beside_in_time(incoming, follows=False)))
    photos = {photo.file_id: photo for photo in photos_shown(one for _, one in pairs)}
    for follows, other in pairs:
        photo = photos.get(other.file_id or 0) if other is not None else None
        thing = (photo.frag or photo.colony) if photo is not None else None
        if other is None or thing is None:
            continue
        gap = other.taken_at - incoming.taken_at if other.taken_at and incoming.taken_at else None
        beside = hole_beside(thing, backwards=not follows) if isinstance(thing, Frag) else []
        found += by_sequence(thing.code_id, gap=gap, follows=follows, beside=beside)
    return found


def beside_in_time(incoming: Incoming, *, follows: bool) -> Incoming | None:
    """Return the filed picture of the same batch that was taken just before one, or just after.

    Args: ``follows`` where the one that is asked for came before, and this follows it.
    Queries: 1.
    """
    rows = Incoming.objects.filter(batch=incoming.batch_id, state=State.FILED.value)
    column, value = ("taken_at", incoming.taken_at) if incoming.taken_at else ("pk", incoming.pk)
    side, sign = ("lte", "-") if follows else ("gte", "")
    where: dict[str, Any] = {f"{column}__{side}": value}
    order = [f"{sign}{column}", *([f"{sign}pk"] if column != "pk" else [])]
    return rows.filter(**where).exclude(pk=incoming.pk).order_by(*order).first()


def photos_shown(pictures: Iterable[Incoming | None]) -> Iterable[Photo]:
    """Return the photos that filed pictures became.

    Queries: 1 where there are any.
    """
    files = {one.file_id for one in pictures if one is not None}
    return whole_photos(files) if files else ()


def hole_beside(frag: Frag, *, backwards: bool) -> list[str]:
    """Return the code of what stands in the next filled hole of a frag's rack, or nothing.

    Queries: 1 where the frag's hole is known.
    """
    if frag.rack_id is None or frag.hole_row is None or frag.hole_column is None:
        return []
    there = Frag.objects.filter(LIVES, rack=frag.rack_id, hole_row__isnull=False)
    holes = [
        ((row or 0, column or 0), code)
        for row, column, code in there.values_list("hole_row", "hole_column", "code_id")
    ]
    return next_hole(holes, start=(frag.hole_row, frag.hole_column), backwards=backwards)


def named(proposals: Sequence[Proposal]) -> list[Proposed]:
    """Return proposals with names and places; what carries none of the codes is left out.

    Queries: 3 where there are any.
    """
    codes = [one.code for one in proposals]
    if not codes:
        return []
    told: dict[str, tuple[str, str]] = {}
    for frag in Frag.objects.filter(code__in=codes).select_related("variety", "rack__trough"):
        told[frag.code_id] = frag.variety.name, frag_place(frag)
    for colony in Colony.objects.filter(code__in=codes).select_related("variety"):
        told[colony.code_id] = colony.variety.name, "a colony"
    for rack in Rack.objects.filter(code__in=codes).select_related("trough"):
        told[rack.code_id] = str(rack), "the rack"
    return [Proposed(one.code, *told[one.code], one.why) for one in proposals if one.code in told]


def frag_place(frag: Frag) -> str:
    """Return where a frag stands, or that it does not."""
    if frag.rack is None:
        return frag.stage if not frag.pieces else "not placed"
    hole = f" {frag.hole_row}/{frag.hole_column}" if frag.hole_row else ""
    return f"{frag.rack}{hole}"


def racks_shown(codes: Sequence[str], *, known: set[str]) -> list[Proposed]:
    """Propose the racks in which the frags of several labels stand.

    Queries: 1 where there are several labels.
    """
    if len(codes) < 2:
        return []
    racks = Rack.objects.filter(frags__code__in=codes).select_related("trough").distinct()
    return [
        Proposed(rack.code_id, str(rack), "the rack", "some of these stand there")
        for rack in racks[:3]
        if rack.code_id not in known
    ]
