"""Keeping files that come in."""

import hashlib
from dataclasses import dataclass

from django.core.files.base import ContentFile

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.models import StoredFile
from fraginv.base.pictures import PreparedPicture, prepare_picture
from fraginv.base.queries.files import damaged_names, storage_for
from fraginv.base.queries.organisation import organisation
from fraginv.base.rules.documents import PDF, check_pdf, document_name, is_pdf
from fraginv.base.rules.pictures import original_name, rendition_name
from fraginv.base.transactions import one_transaction, undo_on_failure


@dataclass(frozen=True)
class Unpacked:
    """A picture that was checked whole and made smaller, with the bytes that came in told."""

    prepared: PreparedPicture
    sha256: str
    size_bytes: int


def unpack_picture(data: bytes) -> Unpacked:
    """Check a picture whole and make what is kept of it; nothing is written.

    It takes its time, so it is done before a transaction begins, not in it.
    Raises: InputError as ``prepare_picture``.
    Queries: the organisation.
    """
    prepared = prepare_picture(data, zone=organisation().zone)
    return Unpacked(prepared, hashlib.sha256(data).hexdigest(), len(data))


@one_transaction
def store_picture(data: bytes, *, private: bool = False) -> StoredFile:
    """Check a picture and keep it with its renditions; the same bytes are kept once.

    Raises: InputError as ``prepare_picture``; Conflict as ``store_prepared``.
    Queries: 3, and the organisation.
    """
    return store_unpacked(unpack_picture(data), private=private)


def store_unpacked(picture: Unpacked, *, private: bool = False) -> StoredFile:
    """Keep a picture that was unpacked before; as ``store_prepared``."""
    return store_prepared(
        picture.prepared,
        sha256=picture.sha256,
        size_bytes=picture.size_bytes,
        private=private,
    )


@one_transaction
def store_prepared(
    prepared: PreparedPicture, *, sha256: str, size_bytes: int, private: bool = False
) -> StoredFile:
    """Keep a picture that was checked and made smaller before; the same bytes are kept once.

    The row comes first, for it makes a second sender of the same picture wait;
    the files are there before the row can be seen, and go again when the
    transaction fails. Sending a picture again mends files that were lost or damaged.
    Args: the hash and size of the bytes as they came in.
    Raises: Conflict when the same picture is kept on the other side of the wall
        between private and public.
    Queries: 3.
    """
    facts, kept = prepared.facts, hashlib.sha256(prepared.original).hexdigest()
    file, is_new = StoredFile.objects.get_or_create(
        sha256=sha256,
        defaults={
            "kept_sha256": kept,
            "media_type": facts.kept_type,
            "size_bytes": size_bytes,
            "width": facts.width,
            "height": facts.height,
            "taken_at": facts.taken_at,
            "focal_length_mm": facts.focal_length_mm,
            "focal_35_mm": facts.focal_35_mm,
            "optics": facts.optics.value,
            "has_print": True,
            "private": private,
            "stored_at": clock.now(),
        },
    )
    if not is_new:
        refuse_other_side(file, private=private)
    if write_picture(file, prepared=prepared) and file.kept_sha256 != kept:
        file.kept_sha256 = kept
        file.save(update_fields=["kept_sha256"])
    if not file.has_print:
        file.has_print = True
        file.save(update_fields=["has_print"])
    return file


def write_picture(file: StoredFile, *, prepared: PreparedPicture) -> bool:
    """Write what is not in the storage as it should be; files that are new go if the action fails.

    Returns: whether the original was written.
    """
    original = original_name(file.sha256, media_type=file.media_type)
    contents = {original: prepared.original}
    for size, content in prepared.renditions.items():
        contents[rendition_name(file.sha256, size=size)] = content
    storage = storage_for(private=file.private)
    damaged = set(damaged_names(file))
    written = damaged | {name for name in contents if not storage.exists(name)}
    for name in written:
        if name in damaged:
            storage.delete(name)
        else:
            undo_on_failure(lambda name=name: storage.delete(name))  # type: ignore[misc]
        storage.save(name, ContentFile(contents[name]))
    return original in written


def refuse_other_side(file: StoredFile, *, private: bool) -> None:
    """Refuse to keep a file on both sides of the wall between private and public.

    Raises: Conflict.
    """
    if file.private == private:
        return
    there, here = ("private", "public") if file.private else ("public", "private")
    raise Conflict(
        f"This very picture is already kept as a {there} file and cannot be {here} as well. "
        "Take another picture."
    )


@one_transaction
def store_paper(data: bytes) -> StoredFile:
    """Check a paper, a PDF or a picture of it by its content, and keep it as a private file.

    Raises: InputError as ``check_pdf`` and ``store_picture``; Conflict as ``store_picture``.
    Queries: as ``store_picture``.
    """
    return store_pdf(data) if is_pdf(data) else store_picture(data, private=True)


def store_pdf(data: bytes) -> StoredFile:
    """Keep a PDF as it came in, once; what was lost or damaged in the storage is mended."""
    check_pdf(data)
    mark = hashlib.sha256(data).hexdigest()
    file, _ = StoredFile.objects.get_or_create(
        sha256=mark,
        defaults={
            "kept_sha256": mark,
            "media_type": PDF,
            "size_bytes": len(data),
            "private": True,
            "stored_at": clock.now(),
        },
    )
    storage, name = storage_for(private=True), document_name(mark)
    damaged = name in damaged_names(file)
    if damaged:
        storage.delete(name)
    if damaged or not storage.exists(name):
        undo_on_failure(lambda: storage.delete(name))
        storage.save(name, ContentFile(data))
    return file
