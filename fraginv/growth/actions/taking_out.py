"""Taking a photo out of where it was filed by mistake, back into the tray."""

import uuid

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.intake import open_batch
from fraginv.growth.models import Incoming, Measurement, Photo
from fraginv.growth.queries.photos import described_subject
from fraginv.growth.rules import strays
from fraginv.growth.rules.intake import State, said_in_short
from fraginv.stock.actions.looks import note_taken_out


@one_transaction
def take_out(photo_id: int, *, by: Person) -> Photo:
    """Take a photo out of a frag, colony, rack or variety that it does not show.

    Sizes measured in it count no longer, and the frag's log says so. The picture lies in
    the tray again; a frag's part of a photo of many is only taken out, and parts go with
    the photo that they were cut out of.
    Raises: Conflict where somebody took it out already, or changed the frag.
    Lock: the photo, then its parts, then the frags by id.
    Queries: 7, and 4 for each frag.
    """
    found = Photo.every.select_for_update().filter(pk=photo_id, withdrawn_at__isnull=True).first()
    if found is None:
        raise Conflict("This photo was taken out already. Open the page again to see what is left.")
    parts = list(Photo.objects.select_for_update().filter(part_of=found).order_by("frag_id"))
    out = [found, *parts]
    now, ids = clock.now(), [photo.pk for photo in out]
    Photo.objects.filter(pk__in=ids).update(withdrawn_at=now, withdrawn_by=by)
    Measurement.objects.filter(photo__in=ids, replaced_at__isnull=True).update(replaced_at=now)
    for photo in sorted(out, key=lambda one: one.frag_id or 0):
        if photo.frag_id is not None:
            note_taken_out(photo.frag_id, photo_id=photo.pk, by=by)
    if found.part_of_id is None:
        lay_back(found, by=by)
    return found


def lay_back(photo: Photo, *, by: Person) -> None:
    """Lay the picture of a photo that was taken out into the tray, where nothing else shows it."""
    if Photo.objects.filter(file=photo.file_id).exists():
        return
    said = said_in_short([strays.taken_out(described_subject(photo)).text])
    told = {
        "state": State.TRAY.value,
        "why": strays.TAKEN_OUT,
        "said": said,
        "settled_by": by,
        "settled_at": clock.now(),
    }
    row = Incoming.objects.filter(file=photo.file_id).exclude(state=State.REFUSED.value).last()
    if row is not None:
        Incoming.objects.filter(pk=row.pk).update(**told)
        return
    Incoming.objects.create(
        batch=open_batch(uuid.uuid4(), by=by),
        sha256=photo.file.sha256,
        name=f"picture of {photo.taken_on}",
        file=photo.file,
        taken_at=photo.taken_at,
        at=clock.now(),
        **told,
    )
