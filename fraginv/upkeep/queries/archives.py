"""Backups read back: everything in one is looked at before anything is believed."""

import hashlib
import shutil
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO

from fraginv.base.errors import InputError
from fraginv.upkeep.rules.archive import (
    MANIFEST,
    MOST_MANIFEST,
    Entry,
    Manifest,
    check_entries,
    read_manifest,
)

CHUNK = 1024 * 1024
ENCRYPTED = 0x1
READ = {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}
BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, EOFError, UnicodeDecodeError)


@contextmanager
def opened(file: Path) -> Iterator[zipfile.ZipFile]:
    """Open a backup for reading.

    Raises: InputError for what is no ZIP archive, or breaks while it is read.
    """
    with ExitStack() as stack:
        try:
            archive = stack.enter_context(zipfile.ZipFile(file))
        except FileNotFoundError as error:
            raise InputError(f"There is no file {file}.") from error
        except OSError as error:
            raise InputError(f"{file} cannot be read: {error.strerror or error}.") from error
        except BROKEN as error:
            raise InputError(f"{file} is no sound backup: {error}. Take another.") from error
        try:
            yield archive
        except BROKEN as error:
            raise InputError(f"{file} is damaged: {error}. Take another backup.") from error


def manifest_in(archive: zipfile.ZipFile) -> Manifest:
    """Return a backup's manifest, after the paths and sizes of its files were compared with it.

    Raises: InputError.
    """
    for info in archive.infolist():
        if info.flag_bits & ENCRYPTED or info.compress_type not in READ:
            raise InputError(f"{info.filename} is packed in a way that no backup is. Take another.")
    found = [(info.filename, info.file_size) for info in archive.infolist()]
    sizes = dict(found)
    if MANIFEST not in sizes or sizes[MANIFEST] > MOST_MANIFEST:
        raise InputError("The file is no backup of fraginv: it has no manifest. Take another.")
    manifest = read_manifest(archive.read(MANIFEST))
    check_entries(manifest, found=found)
    return manifest


def check_hashes(archive: zipfile.ZipFile, *, manifest: Manifest) -> None:
    """Read every file of a backup and compare its hash.

    Raises: InputError naming the first that is not what the manifest says.
    """
    for entry in manifest.entries:
        with archive.open(entry.path) as handle:
            for _ in verified(handle, entry=entry):
                pass


def verified(handle: IO[bytes], *, entry: Entry) -> Iterator[bytes]:
    """Yield a file of a backup in portions; at its end, it was what the manifest says.

    Raises: InputError when it was not.
    """
    digest, left = hashlib.sha256(), entry.size
    while chunk := handle.read(CHUNK):
        digest.update(chunk)
        left -= len(chunk)
        yield chunk
    if left or digest.hexdigest() != entry.sha256:
        raise InputError(f"{entry.path} is damaged in the backup. Take another backup.")


def refuse_no_room(manifest: Manifest, *, folder: Path) -> None:
    """Refuse a backup that would not fit on the disk, by the sizes that it declares.

    Raises: InputError.
    """
    needed = sum(entry.size for entry in manifest.entries)
    free = shutil.disk_usage(folder).free
    if needed > free:
        raise InputError(
            f"The backup unpacks to {needed / 1e6:.0f} MB, and {folder} has room for "
            f"{free / 1e6:.0f} MB. Free some, or restore it elsewhere."
        )


def hash_of(file: Path) -> str:
    """Return the hash of a file, read in portions."""
    with file.open("rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def lines_in(archive: zipfile.ZipFile, *, path: str) -> Iterator[bytes]:
    """Yield the lines of one file in a backup."""
    with archive.open(path) as handle:
        yield from handle
