"""Reading stored files back."""

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from django.core.files.storage import FileSystemStorage, Storage, storages
from django.db.models import QuerySet

from fraginv.base.errors import NotFound
from fraginv.base.models import StoredFile
from fraginv.base.rules.documents import PDF, document_name
from fraginv.base.rules.pictures import SIZES, SUFFIXES, original_name, rendition_name


def storage_for(*, private: bool) -> Storage:
    """Return where files lie: papers and bills apart from what visitors may see."""
    return storages["private" if private else "default"]


def without_print() -> QuerySet[StoredFile]:
    """Return the pictures that were kept before there was a size for papers, the oldest first.

    Queries: none until it is read, then 1.
    """
    return StoredFile.objects.filter(has_print=False, width__isnull=False).order_by("pk")


def read_rendition(file: StoredFile, *, size: int) -> bytes:
    """Return a picture as JPEG, its longer side no longer than ``size`` pixels.

    Args: ``size`` 240, 320 (for papers), 600 or 1600.
    Raises: InputError for another size; NotFound when the file is missing.
    """
    return read_stored(file, name=rendition_name(file.sha256, size=size))


def rendition_source(file: StoredFile, *, size: int) -> Path | bytes:
    """Return where a rendition lies in a folder of this machine, or its bytes from a store.

    A paper with a thousand pictures need not hold them all.

    Args: ``size`` 240, 320 (for papers), 600 or 1600.
    Raises: InputError for another size; NotFound when the file is missing.
    """
    name = rendition_name(file.sha256, size=size)
    storage = storage_for(private=file.private)
    if not isinstance(storage, FileSystemStorage):
        return read_stored(file, name=name)
    path = Path(storage.path(name))
    if not path.is_file():
        raise missing(file, name=name)
    return path


def read_original(file: StoredFile) -> bytes:
    """Return a picture as it came in, without place and device, or a PDF.

    Raises: NotFound when the file is missing.
    """
    original, *_ = kept_names(file.sha256, media_type=file.media_type, sizes=file.sizes)
    return read_stored(file, name=original)


def read_stored(file: StoredFile, *, name: str) -> bytes:
    """Return the bytes under one of a file's names.

    Raises: NotFound when nothing lies there.
    """
    try:
        with storage_for(private=file.private).open(name) as handle:
            return bytes(handle.read())
    except FileNotFoundError as error:
        raise missing(file, name=name) from error


def missing(file: StoredFile, *, name: str) -> NotFound:
    """Return the error that says that a file is not in the storage."""
    text = f"The file {file} is missing in the storage. Put it back from the backup."
    return NotFound(text, name=name)


def kept_names(sha256: str, *, media_type: str, sizes: Sequence[int] = SIZES) -> list[str]:
    """Return every name under which a file is kept, its original first; none for another type."""
    if media_type == PDF:
        return [document_name(sha256)]
    if media_type not in SUFFIXES:
        return []
    original = original_name(sha256, media_type=media_type)
    return [original, *(rendition_name(sha256, size=size) for size in sizes)]


def missing_names(file: StoredFile) -> Iterator[str]:
    """Yield the names under which a file should be in the storage and is not."""
    storage = storage_for(private=file.private)
    for name in kept_names(file.sha256, media_type=file.media_type, sizes=file.sizes):
        if not storage.exists(name):
            yield name


def damaged_names(file: StoredFile) -> Iterator[str]:
    """Yield the names under which a file is in the storage and is not what was kept.

    The original must have the bytes that were kept; renditions must not be empty.
    """
    names = kept_names(file.sha256, media_type=file.media_type, sizes=file.sizes)
    storage = storage_for(private=file.private)
    for original in names[:1]:
        if not storage.exists(original):
            continue
        kept = hashlib.sha256(read_stored(file, name=original)).hexdigest()
        if kept != file.kept_sha256:
            yield original
    for name in names[1:]:
        if storage.exists(name) and not storage.size(name):
            yield name
