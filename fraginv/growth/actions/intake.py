"""Taking pictures in: kept at the door, worked off afterwards, settled once."""

import hashlib
import uuid
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from django.core.files.base import ContentFile
from django.db import transaction

from fraginv.base import clock
from fraginv.base.actions.files import Unpacked, store_unpacked, unpack_picture
from fraginv.base.errors import Conflict, FraginvError, InputError
from fraginv.base.models import Person, StoredFile
from fraginv.base.pictures import inspect_picture
from fraginv.base.queries.files import storage_for
from fraginv.base.queries.organisation import organisation_kept
from fraginv.base.tasks import later, run_later
from fraginv.base.transactions import one_transaction, undo_on_failure
from fraginv.growth.actions.parts import Part, file_parts, keep_parts
from fraginv.growth.actions.photos import photo_under
from fraginv.growth.actions.twice import note_twice
from fraginv.growth.models import Batch, Incoming, Photo
from fraginv.growth.queries.intake import (
    is_spoilt,
    kept_before,
    named_by,
    read_waiting,
    waiting_name,
    waiting_pictures,
)
from fraginv.growth.rules import strays
from fraginv.growth.rules.intake import Plan, Read, State, name_kept, plan_for, said_in_short
from fraginv.growth.rules.moments import doubts_of, taken
from fraginv.growth.seeing.labels import labels_of_picture
from fraginv.stock.models import Colony, Frag, Rack

MOST_WAITING: Final = 2_000
MOST_IN_A_BATCH: Final = 1_000
MODELS: Final[dict[str, type[Frag] | type[Colony] | type[Rack]]] = {
    "frag": Frag,
    "colony": Colony,
    "rack": Rack,
}


class TooMany(Conflict):
    """More pictures wait than may; later there is room again."""

    code = "too_many"
    status = 429


@dataclass(frozen=True)
class Ready:
    """A picture unpacked, read and decided on: all that is done before rows are locked."""

    picture: Unpacked
    read: Read
    plan: Plan
    parts: Sequence[Part] = ()


@one_transaction
def open_batch(
    key: uuid.UUID,
    *,
    by: Person,
    rack: Rack | None = None,
    scanned: Sequence[tuple[str, str]] = (),
) -> Batch:
    """Begin what one person sends in one go, or go on with it.

    Args: ``scanned`` the codes that the phone had scanned before, with when.
    Raises: Conflict where somebody else began it.
    Queries: 1, and 2 for a new one.
    """
    batch, _ = Batch.objects.get_or_create(
        key=key,
        defaults={"by": by, "rack": rack, "scanned": list(map(list, scanned)), "at": clock.now()},
    )
    if batch.by_id != by.pk:
        raise Conflict("Somebody else sent these pictures. Open Photos again and choose yours.")
    return batch


@one_transaction
def keep_incoming(data: bytes, *, name: str, batch: Batch) -> Incoming:
    """Look at a picture at the door and keep it until it is worked off; a task is asked for.

    What is none by its header is refused with the reason, and its bytes are not kept. The
    same picture twice in a batch is one, which says so, unless its bytes were gone when its
    turn came.
    Raises: TooMany where so many wait that the disk might fill; Conflict for a full batch.
    Queries: 3 to 9.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    name = name_kept(name)
    known = Incoming.objects.filter(batch=batch, sha256=sha256).first()
    if known is not None and known.why != strays.GONE.code:
        return note_twice(known, name=name)
    refuse_too_many(batch)
    problem = problem_at_the_door(data)
    row, _ = Incoming.objects.update_or_create(
        batch=batch,
        sha256=sha256,
        defaults={
            "name": name,
            "state": State.REFUSED.value if problem else State.WAITING.value,
            "why": strays.UNREADABLE if problem else "",
            "said": said_in_short([problem]),
            "at": clock.now(),
            "settled_at": None,
        },
    )
    if not problem:
        keep_bytes(row, data)
        run_later(work_off_later, incoming_id=row.pk)
    return row


def keep_bytes(row: Incoming, data: bytes) -> None:
    """Keep the bytes of a picture that waits; they go again if the action fails."""
    storage, place = storage_for(private=True), waiting_name(row)
    if storage.exists(place):  # a request that was killed left it, perhaps not whole
        storage.delete(place)
    undo_on_failure(lambda: storage.delete(place))
    storage.save(place, ContentFile(data))


def refuse_too_many(batch: Batch) -> None:
    """Refuse what would fill the disk or a page.

    Raises: TooMany; Conflict for a batch that is full, which waiting does not help.
    Queries: 2.
    """
    if waiting_pictures().order_by()[:MOST_WAITING].count() >= MOST_WAITING:
        raise TooMany(
            f"{MOST_WAITING:,} pictures wait to be read already. Wait until some of them are done."
        )
    if batch.pictures.order_by()[:MOST_IN_A_BATCH].count() >= MOST_IN_A_BATCH:
        raise Conflict(
            f"{MOST_IN_A_BATCH:,} pictures came in one go already. Open Photos anew and send the"
            " others from there."
        )


def problem_at_the_door(data: bytes) -> str:
    """Say why something is no picture by its header, or nothing."""
    try:
        inspect_picture(data)
    except InputError as error:
        return error.message
    return ""


@later(title="Read a picture that came in")
def work_off_later(incoming_id: int) -> None:
    """Unpack, read and settle a picture that waits; one that is settled is let alone."""
    work_off(incoming_id)


def work_off(incoming_id: int) -> None:
    """Do the same at once. All that takes long is done before rows are locked.

    Raises: Conflict where somebody changed a frag in the meantime; it waits then as before.
    """
    found = waiting_pictures().select_related("batch__by", "batch__rack").filter(pk=incoming_id)
    row = found.first()
    if row is None:
        return
    with organisation_kept():
        if not is_spoilt(row.sha256) and settle_known(row.pk, sha256=row.sha256):
            return
        try:
            ready = made_ready(read_waiting(row), batch=row.batch)
        except InputError as error:
            refuse(row.pk, said=error.message)
            return
        settle(row.pk, ready=ready)


def made_ready(data: bytes, *, batch: Batch) -> Ready:
    """Unpack a picture, read its labels, decide what it is filed under, and cut out its parts.

    Raises: InputError for what is damaged.
    """
    picture = unpack_picture(data)
    read = labels_of_picture(data, picture.prepared)
    plan = plan_for(read, known=named_by({label.code for label in read.labels}), rack=batch.rack_id)
    facts = picture.prepared.facts
    size = (facts.width, facts.height)
    parts = keep_parts(data, frags=plan.parts, labels=read.labels, size=size) if plan.parts else []
    return Ready(picture, read, plan, parts)


@one_transaction
def settle_known(incoming_id: int, *, sha256: str) -> bool:
    """Settle a picture that was filed before, or lies in the tray already, as that one.

    Returns: whether it was.
    Queries: 1 for a new picture; 3 or 4 else.
    """
    file = kept_before(sha256)
    if file is None:
        return False
    if file.private:
        said = {"why": strays.PRIVATE.code, "said": strays.PRIVATE.text}
        return settled(incoming_id, state=State.REFUSED, **said)
    if Photo.objects.filter(file=file).exists():
        return settled(incoming_id, state=State.FILED, file=file, said=strays.AGAIN)
    if Incoming.objects.filter(file=file, state=State.TRAY.value).exists():
        return settled(incoming_id, state=State.DISCARDED, file=file, said=strays.IN_TRAY)
    return False


@one_transaction
def settle(incoming_id: int, *, ready: Ready) -> None:
    """Keep a picture and file it, or lay it into the tray; once, whoever comes first.

    Raises: Conflict where somebody changed a frag in the meantime.
    Lock: the picture's row, then the frags' by id.
    """
    row = Incoming.objects.select_for_update().filter(pk=incoming_id).first()
    if row is None or row.state != State.WAITING.value:
        return
    file, plan = store_unpacked(ready.picture), ready.plan
    if settle_known(row.pk, sha256=row.sha256):  # the same picture was faster
        return
    known = taken(file.taken_at, now=row.at)
    told: dict[str, Any] = {
        "file": file,
        "labels": [label.as_dict() for label in ready.read.labels],
        "taken_at": known.at if known.known else None,
    }
    if plan.problem is not None:
        said = said_in_short([plan.problem.text])
        settled(incoming_id, state=State.TRAY, why=plan.problem.code, said=said, **told)
        return
    file_as_planned(file, ready=ready, by=row.batch.by, came_at=row.at)
    said = said_in_short([*plan.notes, *said_of(file, came_at=row.at)])
    settled(incoming_id, state=State.FILED, said=said, **told)


def said_of(file: StoredFile, *, came_at: datetime) -> list[str]:
    """Say of a picture that is filed now what a person should hear: its day, and its lens."""
    doubts = doubts_of(file.taken_at, optics=file.optics, now=came_at)
    return [doubt.text for doubt in doubts]


def file_as_planned(file: StoredFile, *, ready: Ready, by: Person, came_at: datetime) -> None:
    """File a picture under what it shows, and the parts of frags under them."""
    named = ready.plan.subject
    if named is None:
        raise FraginvError("Nothing was decided for this picture. Tell whoever runs the house.")
    subject = MODELS[named.kind].objects.get(pk=named.pk)
    whole = photo_under(subject, file=file, by=by, came_at=came_at)
    file_parts(whole, parts=ready.parts, by=by)


@one_transaction
def refuse(incoming_id: int, *, said: str) -> None:
    """Settle a picture as refused, with the reason."""
    why = strays.GONE.code if said == strays.GONE.text else strays.UNREADABLE
    settled(incoming_id, state=State.REFUSED, why=why, said=said_in_short([said]))


def settled(incoming_id: int, *, state: State, **told: Any) -> bool:
    """Move a picture that waits on, and let its bytes go once that is sure.

    Returns: whether it still waited.
    """
    rows = Incoming.objects.select_for_update().filter(pk=incoming_id, state=State.WAITING.value)
    row = rows.first()
    told["said"] = said_in_short(filter(None, [row.said if row else "", told.get("said", "")]))
    if row is None or not rows.update(state=state.value, settled_at=clock.now(), **told):
        return False
    place = waiting_name(row)
    transaction.on_commit(lambda: storage_for(private=True).delete(place))
    return True


def take_in(data: bytes, *, name: str, batch: Batch) -> Incoming:
    """Take a picture in and work it off at once; return what became of it.

    Where somebody changed a frag in the meantime it waits for a worker, as any other.
    Raises: as ``keep_incoming``.
    """
    row = keep_incoming(data, name=name, batch=batch)
    with suppress(Conflict):
        work_off(row.pk)
    return Incoming.objects.select_related("file").get(pk=row.pk)
