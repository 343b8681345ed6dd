"""Filing by hand what came in and could not be filed by itself."""

from typing import Final

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.queries.files import read_original
from fraginv.base.queries.organisation import organisation_kept
from fraginv.base.tasks import later, run_later
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.intake import said_of
from fraginv.growth.actions.parts import file_parts, keep_parts
from fraginv.growth.actions.photos import photo_under, settle_in_tray
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.intake import labels_of, named_by
from fraginv.growth.rules.intake import State, distinct, doubled, said_in_short
from fraginv.stock.models import Colony, Frag, Rack

MOVED_ON: Final = (
    "This picture does not lie in the tray any more: somebody filed it or threw it away meanwhile."
)


@one_transaction
def file_by_hand(incoming_id: int, *, subject: Frag | Colony | Rack, by: Person) -> Photo:
    """File a picture of the tray under what a person says that it shows.

    The same picture is not asked for a second time. Of a rack's photo the parts of the
    frags whose labels it shows are cut out afterwards.
    Raises: Conflict where it lies in the tray no more, or somebody changed the frag.
    Queries: 5, and 4 for a frag; 1 more for a rack.
    """
    row = in_tray(incoming_id)
    if row.file is None:
        raise Conflict(MOVED_ON)
    came_at = row.taken_at or row.at
    photo = photo_under(subject, file=row.file, by=by, came_at=came_at)
    said = said_in_short(said_of(row.file, came_at=came_at))
    settle_in_tray(row.file, by=by, said=said)
    if isinstance(subject, Rack) and row.labels:
        run_later(cut_out_later, photo_id=photo.pk, incoming_id=row.pk)
    return photo


@one_transaction
def discard(incoming_id: int, *, by: Person) -> Incoming:
    """Throw a picture of the tray away; it can be taken back.

    Raises: Conflict where it lies in the tray no more.
    Queries: 2.
    """
    row = in_tray(incoming_id)
    row.state, row.settled_by, row.settled_at = State.DISCARDED.value, by, clock.now()
    row.save(update_fields=["state", "settled_by", "settled_at"])
    return row


@one_transaction
def take_back(incoming_id: int, *, by: Person) -> Incoming:
    """Lay a picture that was thrown away back into the tray.

    Raises: Conflict where it was not, or was filed since.
    Queries: 3.
    """
    rows = Incoming.objects.select_for_update().filter(pk=incoming_id)
    row = rows.filter(state=State.DISCARDED.value, file__isnull=False).first()
    if row is None or Photo.objects.filter(file=row.file_id).exists():
        raise Conflict("This picture was not thrown away, or is filed. Look at the list again.")
    row.state, row.settled_by, row.settled_at = State.TRAY.value, by, clock.now()
    row.save(update_fields=["state", "settled_by", "settled_at"])
    return row


def in_tray(incoming_id: int) -> Incoming:
    """Return a picture of the tray, locked.

    Raises: Conflict.
    Queries: 1.
    """
    rows = Incoming.objects.select_for_update(of=("self",)).select_related("file")
    row = rows.filter(pk=incoming_id, state=State.TRAY.value).first()
    if row is None:
        raise Conflict(MOVED_ON)
    return row


@later(title="Cut frags out of a rack's photo")
def cut_out_later(photo_id: int, incoming_id: int) -> None:
    """Cut out of a rack's photo the parts of the frags whose labels were read in it.

    One that was taken out meanwhile is let alone.
    """
    photo = Photo.objects.select_related("file", "by").filter(pk=photo_id).first()
    if photo is None:
        return
    labels = labels_of(Incoming.objects.get(pk=incoming_id))
    with organisation_kept():
        known = named_by({label.code for label in labels})
        twice = doubled(labels)
        frags = [one for one in distinct(known.values(), "frag") if one.code not in twice]
        size = (photo.file.width or 0, photo.file.height or 0)
        parts = keep_parts(read_original(photo.file), frags=frags, labels=labels, size=size)
        file_parts(photo, parts=parts, by=photo.by)
