"""Writing a backup: a part file beside its place, read back whole, and only then named."""

import hashlib
import os
import secrets
import sqlite3
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from errno import EDQUOT, EFBIG, ENOSPC
from pathlib import Path
from typing import IO

from django.conf import settings
from django.db import connection

from fraginv.base import clock
from fraginv.base.errors import Conflict
from fraginv.base.version import version
from fraginv.upkeep.queries.archives import CHUNK, check_hashes, manifest_in, opened
from fraginv.upkeep.queries.copies import Census, copy_sqlite, dump_lines, engine_version
from fraginv.upkeep.queries.stored import Named, named_files
from fraginv.upkeep.rules.archive import (
    DATABASES,
    KEY,
    MANIFEST,
    BackupFailed,
    Entry,
    Manifest,
    write_manifest,
)

NO_ROOM = {ENOSPC, EDQUOT, EFBIG}
PACKED = {".jpg", ".png", ".webp"}


class Writer:
    """An archive that is being written, and what is in it so far."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive = archive
        self.entries: list[Entry] = []
        self.problems: list[str] = []

    def add(self, path: str, chunks: Iterable[bytes]) -> Entry:
        """Write one file in portions; pictures are packed already and stored as they are."""
        info = zipfile.ZipInfo(path, clock.now().timetuple()[:6])
        info.external_attr = 0o600 << 16
        packed = Path(path).suffix in PACKED
        info.compress_type = zipfile.ZIP_STORED if packed else zipfile.ZIP_DEFLATED
        digest, size = hashlib.sha256(), 0
        with self.archive.open(info, "w", force_zip64=True) as sink:
            for chunk in chunks:
                digest.update(chunk)
                size += len(chunk)
                sink.write(chunk)
        entry = Entry(path, size, digest.hexdigest())
        self.entries.append(entry)
        return entry

    def add_named(self, file: Named) -> None:
        """Write a file that the database names, or note that the store does not have it whole."""
        try:
            handle = file.storage.open(file.name)
            first = handle.read(CHUNK)
        except OSError as error:
            if not (file.passing and isinstance(error, FileNotFoundError)):
                self.note(file, error)
            return
        with handle:
            entry = self.add(file.path, self.portions(file, first=first, handle=handle))
        if file.sha256 and entry.sha256 != file.sha256:
            self.problems.append(f"{file.path} is not what was kept")

    def portions(self, file: Named, *, first: bytes, handle: IO[bytes]) -> Iterator[bytes]:
        """Yield a file's portions as far as it can be read."""
        chunk = first
        while chunk:
            yield chunk
            try:
                chunk = handle.read(CHUNK)
            except OSError as error:
                self.note(file, error)
                return

    def note(self, file: Named, error: OSError) -> None:
        """Note why a file cannot be read."""
        why = "is missing" if isinstance(error, FileNotFoundError) else f"({error.strerror})"
        self.problems.append(f"{file.path} {why} in the store")


def write_archive(target: Path) -> Manifest:
    """Write a backup of everything into a new file, and read it back.

    Returns: its manifest; ``problems`` names files that the store lacks.
    Raises: Conflict where the file exists; BackupFailed, after which nothing is left.
    """
    refuse_existing(target)
    with whole_or_nothing(target) as part:
        with zipfile.ZipFile(part, "w", allowZip64=True) as archive:
            manifest = fill(Writer(archive), part=part)
        to_disk(part)
        with opened(part) as archive:
            if manifest_in(archive) != manifest:
                raise BackupFailed(f"{target} did not read back as it was written. Try another.")
            check_hashes(archive, manifest=manifest)
    return manifest


def fill(writer: Writer, *, part: Path) -> Manifest:
    """Write the database as of one moment, then the files that it names, then the key."""
    made_at = clock.now()
    census = add_sqlite(writer, part) if connection.vendor == "sqlite" else add_dump(writer)
    for file in named_files():
        writer.add_named(file)
    writer.add(KEY, [(settings.FRAGINV_HOME / KEY).read_bytes()])
    manifest = Manifest(
        version=version(),
        made_at=made_at.isoformat(),
        engine=connection.vendor,
        engine_version=engine_version(),
        migrations=census.migrations,
        rows=census.rows,
        entries=list(writer.entries),
        problems=list(writer.problems),
    )
    writer.add(MANIFEST, [write_manifest(manifest)])
    return manifest


def add_sqlite(writer: Writer, part: Path) -> Census:
    """Write a copy of the SQLite database; it lies beside the archive meanwhile."""
    copy = part.with_name(f"{part.name}.sqlite3")
    try:
        census = copy_sqlite(copy)
        with copy.open("rb") as handle:
            writer.add(DATABASES["sqlite"], iter(lambda: handle.read(CHUNK), b""))
    finally:
        for name in (copy.name, f"{copy.name}-journal"):
            copy.with_name(name).unlink(missing_ok=True)
    return census


def add_dump(writer: Writer) -> Census:
    """Write a dump of PostgreSQL, counting its rows on the way."""
    census = Census()
    writer.add(DATABASES["postgresql"], portions_of(census.watching(dump_lines())))
    return census


def portions_of(lines: Iterable[bytes]) -> Iterator[bytes]:
    """Yield lines together in portions, so that each need not be written by itself."""
    held, size = [], 0
    for line in lines:
        held.append(line)
        size += len(line)
        if size >= CHUNK:
            yield b"".join(held)
            held, size = [], 0
    yield b"".join(held)


def refuse_existing(target: Path) -> None:
    """Refuse to write where something is, or where nothing can be.

    Raises: Conflict or BackupFailed.
    """
    if target.exists() or target.is_symlink():
        raise Conflict(f"{target} exists already and is left as it is. Choose another name.")
    if not target.parent.is_dir():
        raise BackupFailed(f"There is no folder {target.parent}. Make it, or choose another.")


@contextmanager
def whole_or_nothing(target: Path) -> Iterator[Path]:
    """Give the path of a part file that takes the target's name when all went well.

    Raises: BackupFailed in plain words when the disk fails; the part file is gone then.
    """
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        os.close(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600))
        yield part
        refuse_existing(target)
        part.rename(target)
        to_disk(target.parent)
    except OSError as error:
        raise BackupFailed(say_disk(error, folder=target.parent)) from error
    except sqlite3.Error as error:
        raise BackupFailed(say_sqlite(error, folder=target.parent)) from error
    finally:
        with suppress(OSError):
            part.unlink()


def to_disk(path: Path) -> None:
    """Wait until a file or folder is on the disk; what is read next comes from there."""
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
        if path.is_file():
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)
    finally:
        os.close(descriptor)


def say_disk(error: OSError, *, folder: Path) -> str:
    """Say what the disk refused, and what to do."""
    if error.errno in NO_ROOM:
        return f"There is no room for the backup in {folder}. Free some, or choose another folder."
    return f"The backup cannot be written into {folder}: {error.strerror or error}."


def say_sqlite(error: sqlite3.Error, *, folder: Path) -> str:
    """Say why the database could not be copied."""
    if "full" in str(error) or "disk I/O" in str(error):
        return (
            f"The database cannot be copied into {folder}: {error}. "
            "Free some room, or choose another folder."
        )
    return f"The database could not be copied: {error}."
