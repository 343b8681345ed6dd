"""Keeping tables until somebody has looked at them, and writing down what was brought in."""

import hashlib
from collections.abc import Sequence
from typing import Final

from django.core.files.base import ContentFile
from django.db import connection, transaction

from fraginv.base import clock
from fraginv.base.errors import Conflict, Gone
from fraginv.base.models import Person, TableLoad, Upload, UploadProblem
from fraginv.base.queries.files import storage_for
from fraginv.base.queries.organisation import organisation
from fraginv.base.queries.uploads import GONE, load_before, upload_name
from fraginv.base.rules.days import business_day
from fraginv.base.rules.loads import LoadResult
from fraginv.base.rules.problems import Problem
from fraginv.base.rules.typed_days import DayOrder
from fraginv.base.rules.uploads import KEPT, LONGEST_FILE_NAME, MOST_PROBLEMS, Looked
from fraginv.base.transactions import one_transaction, undo_on_failure

BATCH: Final = 500
LONGEST_COLUMN: Final = 80


@one_transaction
def keep_upload(
    data: bytes, *, kind: str, name: str, days: DayOrder, looked: Looked, by: Person
) -> Upload:
    """Keep a table that somebody sent, with what looking at it came to.

    What the same person sent before of the very same bytes for the same kind goes.
    Queries: 4, and 1 for each 500 problems; 3 more where it was sent before.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    before = list(Upload.objects.filter(kind=kind, sha256=sha256, by=by))
    if before:
        drop_uploads(before)
    upload = Upload.objects.create(
        kind=kind,
        sha256=sha256,
        name=name[-LONGEST_FILE_NAME:],
        days=days.value,
        rows=looked.result.rows,
        mark=looked.mark,
        head=dict(looked.head),
        said=list(looked.result.said),
        problems=len(looked.problems),
        by=by,
        at=clock.now(),
    )
    storage, place = storage_for(private=True), upload_name(upload)
    undo_on_failure(lambda: storage.delete(place))
    storage.save(place, ContentFile(data))
    write_problems(upload, looked.problems)
    return upload


def write_problems(upload: Upload, problems: Sequence[Problem]) -> None:
    """Write down the first of what is wrong with a table."""
    UploadProblem.objects.bulk_create(
        [
            UploadProblem(
                upload=upload,
                line=problem.line,
                column=problem.column[:LONGEST_COLUMN],
                reason=problem.reason,
            )
            for problem in problems[:MOST_PROBLEMS]
        ],
        batch_size=BATCH,
    )


@one_transaction
def note_problems(upload_id: int, *, problems: Sequence[Problem]) -> None:
    """Write down what is wrong with a table now that was in order when it was sent.

    Queries: 3, and 1 for each 500 problems.
    """
    rows = Upload.objects.filter(pk=upload_id)
    if rows.update(problems=len(problems), head={}):
        UploadProblem.objects.filter(upload=upload_id).delete()
        write_problems(rows.get(), problems)


@one_transaction
def throw_away(upload: Upload, *, by: Person) -> None:
    """Let a table that waited go, and its bytes.

    Raises: Gone where somebody brought it in or threw it away meanwhile.
    Lock: as ``take_turn``.
    Queries: 2, 1 more on PostgreSQL.
    """
    take_turn()
    if not drop_uploads([upload]):
        raise Gone(GONE)


@one_transaction
def prune_uploads() -> int:
    """Let go what nobody brought in or threw away within a day; return how many.

    Queries: 1, and 2 where there are any.
    """
    old = list(Upload.objects.filter(at__lt=clock.now() - KEPT))
    if old:
        drop_uploads(old)
    return len(old)


def drop_uploads(uploads: Sequence[Upload]) -> int:
    """Delete tables that waited, and their bytes once that is sure; no other row shares them.

    Returns: how many were still there.
    """
    places = [upload_name(upload) for upload in uploads]
    rows = Upload.objects.filter(pk__in=[upload.pk for upload in uploads])
    _, deleted = rows.delete()
    storage = storage_for(private=True)
    for place in places:
        transaction.on_commit(lambda place=place: storage.delete(place))  # type: ignore[misc]
    return deleted.get(Upload._meta.label, 0)


@one_transaction
def record_load(
    result: LoadResult, *, kind: str, mark: str, name: str, by: Person, knowingly: bool = False
) -> TableLoad:
    """Write down that a table was brought in.

    Args: ``knowingly`` lets the very same rows come a second time.
    Raises: Conflict where they are here already.
    Queries: 2.
    """
    before = load_before(kind, mark=mark)
    if before is not None and not knowingly:
        raise brought_before(before)
    return TableLoad.objects.create(
        kind=kind,
        mark=mark,
        again=0 if before is None else before.again + 1,
        name=name[-LONGEST_FILE_NAME:],
        rows=result.rows,
        said=list(result.said),
        given=[[one.line, one.code, one.old_code] for one in result.given],
        by=by,
        at=clock.now(),
    )


@one_transaction
def take_turn() -> None:
    """Let one table come in after the other, so that each sees what those before it wrote.

    Names and old codes that may be there once alone are looked up before they are written.
    Lock: the table of what was brought in, until the transaction ends; it can still be read.
    Queries: 1 on PostgreSQL; SQLite lets one write at a time as it is.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("LOCK TABLE base_tableload IN EXCLUSIVE MODE")


def refuse_taken(upload: Upload) -> None:
    """Refuse a table that waits no longer, ahead of all the work.

    Raises: Gone where somebody brought it in or threw it away meanwhile.
    Queries: 1.
    """
    if not Upload.objects.filter(pk=upload.pk).exists():
        raise Gone(GONE)


def refuse_again(*, kind: str, mark: str) -> None:
    """Refuse rows that were brought in before, ahead of all the work.

    Raises: Conflict.
    Queries: 1.
    """
    before = load_before(kind, mark=mark)
    if before is not None:
        raise brought_before(before)


def brought_before(load: TableLoad) -> Conflict:
    """Return the error that says when the very same rows were brought in."""
    day = business_day(load.at, organisation().zone)
    return Conflict(
        f"These very rows were brought in on {day} by {load.by.name}, from {load.name}. "
        "Say that they shall come in once more, or take another table.",
        load=load.pk,
    )
