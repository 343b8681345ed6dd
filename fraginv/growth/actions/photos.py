"""Filing photos."""

from datetime import datetime

from fraginv.base import clock
from fraginv.base.actions.files import Unpacked, store_unpacked, unpack_picture
from fraginv.base.models import Person, StoredFile
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.days import business_day
from fraginv.base.transactions import one_transaction
from fraginv.growth.models import Incoming, Photo
from fraginv.growth.queries.photos import Subject, subject_field
from fraginv.growth.rules.intake import State
from fraginv.growth.rules.moments import taken
from fraginv.stock.actions.looks import note_photo
from fraginv.stock.models import Frag


def file_photo(subject: Subject, *, data: bytes, by: Person, caption: str = "") -> Photo:
    """File a picture as it came in; it is unpacked before the transaction begins.

    Args, Raises: as ``unpack_picture`` and ``file_unpacked``.
    Queries: those of both.
    """
    return file_unpacked(subject, picture=unpack_picture(data), by=by, caption=caption)


@one_transaction
def file_unpacked(subject: Subject, *, picture: Unpacked, by: Person, caption: str = "") -> Photo:
    """File a picture under a frag, a colony, a rack or a variety; a frag's log says so.

    The same picture sent again for the same subject changes nothing, so that a
    grower with a bad line may send twice. Where it lay in the tray it lies there no more.
    Args: ``caption`` at most 200 characters.
    Raises: Conflict as ``store_prepared``, and where somebody changed the frag in the
        meantime.
    Queries: 9 for a frag, fewer for the others.
    """
    file = store_unpacked(picture)
    photo = photo_under(subject, file=file, by=by, caption=caption)
    settle_in_tray(file, by=by)
    return photo


def settle_in_tray(file: StoredFile, *, by: Person, said: str = "") -> None:
    """Settle a picture as filed wherever it lies in the tray: nobody need file it again.

    Queries: 1.
    """
    same = Incoming.objects.filter(file=file, state=State.TRAY.value)
    same.update(state=State.FILED.value, why="", said=said, settled_by=by, settled_at=clock.now())


@one_transaction
def photo_under(
    subject: Subject,
    *,
    file: StoredFile,
    by: Person,
    caption: str = "",
    came_at: datetime | None = None,
) -> Photo:
    """Let a picture that is kept already be a photo of something, once; a frag's log says so.

    Args: ``came_at`` when it came in, where that was before now: it was taken no later.
    Args, Raises: as ``file_unpacked``.
    Queries: 2, and 4 for a frag.
    """
    now, zone = clock.now(), organisation().zone
    taken_at = taken(file.taken_at, now=came_at or now).at
    photo, is_new = Photo.objects.get_or_create(
        **{"file": file, subject_field(subject): subject},
        defaults={
            "taken_at": taken_at,
            "taken_on": business_day(taken_at, zone),
            "caption": " ".join(caption.split())[:200],
            "by": by,
            "filed_at": now,
        },
    )
    if is_new and isinstance(subject, Frag):
        log_photo(photo, frag_id=subject.pk, by=by)
    return photo


def log_photo(photo: Photo, *, frag_id: int, by: Person) -> None:
    """Write a photo into its frag's log; one of an earlier day is no look at it today."""
    day = business_day(photo.filed_at, organisation().zone)
    note_photo(frag_id, photo_id=photo.pk, by=by, unseen=photo.taken_on < day)
