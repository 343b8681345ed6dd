"""Reading tables that wait and those that were brought in."""

import hashlib

from django.db.models import QuerySet

from fraginv.base import clock
from fraginv.base.errors import NotFound
from fraginv.base.models import Person, TableLoad, Upload, UploadProblem
from fraginv.base.queries.files import storage_for
from fraginv.base.queries.portions import Portion, portion_of
from fraginv.base.rules.uploads import KEPT

GONE = (
    "This table is not here any more: it was brought in or thrown away, or a day has passed. "
    "Send it again."
)


def upload_name(upload: Upload) -> str:
    """Return the name under which the bytes of a table that waits lie in the private store.

    Each has bytes of its own, also where two people sent the same: otherwise those of one
    could go with the other's row while it was being written.
    """
    return f"uploads/{upload.pk}-{upload.sha256}"


def get_upload_for(person: Person, *, upload_id: int) -> Upload:
    """Return a table that somebody sent; nobody else sees it.

    Raises: NotFound.
    Queries: 1.
    """
    found = uploads_of(person).filter(pk=upload_id).first()
    if found is None:
        raise NotFound(GONE)
    return found


def uploads_of(person: Person) -> QuerySet[Upload]:
    """Return the tables that somebody sent and that wait, the latest first.

    Queries: none until it is read, then 1.
    """
    return Upload.objects.filter(by=person, at__gte=clock.now() - KEPT).order_by("-pk")


def read_upload(upload: Upload) -> bytes:
    """Return the bytes of a table that waits.

    Raises: NotFound where they are gone from the store, or are not what was sent.
    """
    try:
        with storage_for(private=True).open(upload_name(upload)) as handle:
            data = bytes(handle.read())
    except FileNotFoundError as error:
        raise NotFound(GONE) from error
    if hashlib.sha256(data).hexdigest() != upload.sha256:
        raise NotFound(GONE)
    return data


def problems_of(upload: Upload, *, size: int, after: int | None) -> Portion[UploadProblem]:
    """Return a page of what is wrong with a table, by line.

    Args: ``after`` the id of the last problem on the page before.
    Raises: NotFound for a problem that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = UploadProblem.objects.filter(upload=upload)
    return portion_of(rows, order=["pk"], size=size, after=after)


def loads_made(*, size: int, after: int | None) -> Portion[TableLoad]:
    """Return a page of the tables that were brought in, the latest first, without their codes.

    Args: ``after`` the id of the last one on the page before.
    Raises: NotFound for one that is not there.
    Queries: 1, and 1 more from the second page on.
    """
    rows = TableLoad.objects.select_related("by").defer("given", "said")
    return portion_of(rows, order=["-pk"], size=size, after=after)


def get_load(load_id: int) -> TableLoad:
    """Return a table that was brought in, with who did it.

    Raises: NotFound.
    Queries: 1.
    """
    found = TableLoad.objects.select_related("by").filter(pk=load_id).first()
    if found is None:
        raise NotFound("No such table was brought in.")
    return found


def load_before(kind: str, *, mark: str) -> TableLoad | None:
    """Return when the very same rows were last brought in, or None.

    Queries: 1.
    """
    rows = TableLoad.objects.select_related("by").filter(kind=kind, mark=mark)
    return rows.defer("given").order_by("-again").first()
