"""Giving pictures from before there was a size for papers that size too."""

import logging

from django.core.files.base import ContentFile

from fraginv.base.errors import InputError, NotFound
from fraginv.base.models import StoredFile
from fraginv.base.pictures import prepare_picture
from fraginv.base.queries.files import read_original, storage_for, without_print
from fraginv.base.rules.pictures import PRINT_SIZE, rendition_name
from fraginv.base.transactions import one_transaction, undo_on_failure

log = logging.getLogger(__name__)


def make_prints(*, limit: int) -> int:
    """Make the print size of some pictures that lack it; return how many got it.

    One whose original is missing or damaged is left as it is: ``verify`` tells of it.
    Each is written by itself, so that nobody waits.
    Args: ``limit`` of pictures that are looked at.
    Queries: 1, and 3 for each.
    """
    made = 0
    for file in without_print()[:limit]:
        try:
            content = prepare_picture(read_original(file)).renditions[PRINT_SIZE]
        except (NotFound, InputError):
            log.warning("The print size of file %s cannot be made.", file.pk)
            continue
        made += keep_print(file.pk, content=content)
    return made


@one_transaction
def keep_print(file_id: int, *, content: bytes) -> bool:
    """Write a picture's print size, once; return whether it was lacking.

    Queries: 2.
    """
    rows = StoredFile.objects.select_for_update().filter(pk=file_id, has_print=False)
    file = rows.first()
    if file is None:
        return False
    storage, name = storage_for(private=file.private), rendition_name(file.sha256, size=PRINT_SIZE)
    if storage.exists(name):  # what a run left that was broken off
        storage.delete(name)
    undo_on_failure(lambda: storage.delete(name))
    storage.save(name, ContentFile(content))
    file.has_print = True
    file.save(update_fields=["has_print"])
    return True
