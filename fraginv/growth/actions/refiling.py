"""Filing a photo under what its label says, instead of where it was sent."""

from fraginv.base.errors import InputError
from fraginv.base.models import Person
from fraginv.base.transactions import one_transaction
from fraginv.growth.actions.photos import photo_under
from fraginv.growth.actions.taking_out import take_out
from fraginv.growth.actions.tray import file_by_hand
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.photos import Subject, subject_field
from fraginv.growth.rules.intake import State
from fraginv.stock.models import Colony, Frag, Rack


@one_transaction
def file_elsewhere(photo_id: int, *, subject: Frag | Colony | Rack, by: Person) -> Photo:
    """Take a photo out of where it was filed and file it under something else at once.

    One that stands there already is let alone.
    Raises: InputError for a part that was cut out of a photo of many; Conflict as
        ``take_out`` and ``file_by_hand``.
    Queries: those of both, and 2.
    """
    found = Photo.every.get(pk=photo_id)
    if found.part_of_id is not None:
        raise InputError(
            "This is a part of a photo of many. Take the whole photo out instead, and file it anew."
        )
    if found.withdrawn_at is None and stands_under(found, subject):
        return found
    take_out(photo_id, by=by)
    row = Incoming.objects.filter(file=found.file_id, state=State.TRAY.value).last()
    if row is None:  # it stands under a third thing as well
        photo = photo_under(subject, file=found.file, by=by, came_at=found.filed_at)
    else:
        photo = file_by_hand(row.pk, subject=subject, by=by)
    if found.caption and not photo.caption:
        photo.caption = found.caption
        photo.save(update_fields=["caption"])
    return photo


def stands_under(photo: Photo, subject: Subject) -> bool:
    """Tell whether a photo is filed under something."""
    return bool(getattr(photo, f"{subject_field(subject)}_id") == subject.pk)
