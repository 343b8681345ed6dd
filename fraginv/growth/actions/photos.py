"""Filing photos."""

from datetime import datetime

from fraginv.base import clock
from fraginv.base.actions.files import store_picture
from fraginv.base.models import Person, StoredFile
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.days import business_day
from fraginv.base.transactions import one_transaction
from fraginv.growth.models import Photo
from fraginv.growth.queries.photos import Subject, subject_field
from fraginv.stock.actions.looks import note_photo
from fraginv.stock.models import Frag


@one_transaction
def file_photo(subject: Subject, *, data: bytes, by: Person, caption: str = "") -> Photo:
    """File a picture under a frag, a colony or a variety; a frag's log says so.

    The same picture sent again for the same subject changes nothing, so that a
    grower with a bad line may send twice.
    Args: ``data`` the picture as it came in; ``caption`` at most 200 characters.
    Raises: InputError as ``store_picture``; Conflict where somebody changed the
        frag in the meantime.
    Queries: 8 for a frag, fewer for the others.
    """
    file = store_picture(data)
    taken_at = moment_of(file)
    photo, is_new = Photo.objects.get_or_create(
        **{"file": file, subject_field(subject): subject},
        defaults={
            "taken_at": taken_at,
            "taken_on": business_day(taken_at, organisation().zone),
            "caption": " ".join(caption.split())[:200],
            "by": by,
            "filed_at": clock.now(),
        },
    )
    if is_new and isinstance(subject, Frag):
        note_photo(subject.pk, photo_id=photo.pk, by=by)
    return photo


def moment_of(file: StoredFile) -> datetime:
    """Return when a picture was taken; now, where it does not say or says a time to come."""
    present = clock.now()
    return present if file.taken_at is None else min(file.taken_at, present)
