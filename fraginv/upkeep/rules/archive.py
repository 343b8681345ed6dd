"""What a backup holds, how it is described, and what one must never be."""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from fraginv.base.errors import FraginvError, InputError

FORMAT: Final = 1
MANIFEST: Final = "manifest.json"
KEY: Final = "signing.key"
DATABASES: Final = {"sqlite": "database.sqlite3", "postgresql": "database.sql"}
FOLDERS: Final = ("media", "private")
MOST_MANIFEST: Final = 256 * 1024 * 1024
PART = re.compile(r"[^\x00-\x1f/\\:*?\"<>|]{1,200}")

Migration = tuple[str, str]


class BackupFailed(FraginvError):
    """A backup could not be made; nothing is left of it."""

    code = "backup_failed"
    status = 500


class RestoreFailed(FraginvError):
    """A backup could not be restored; nothing is left of the attempt."""

    code = "restore_failed"
    status = 500


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of a backup: its path, its size in bytes, and its hash."""

    path: str
    size: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself.

    Attributes: ``made_at`` in UTC as ISO 8601 writes it; ``rows`` by table;
    ``problems`` name what the store lacked when the backup was made.
    """

    version: str
    made_at: str
    engine: str
    engine_version: str
    migrations: Sequence[Migration]
    rows: Mapping[str, int]
    entries: Sequence[Entry]
    problems: Sequence[str] = ()

    @property
    def database(self) -> str:
        """Return the path of the database in the backup."""
        return DATABASES[self.engine]


def write_manifest(manifest: Manifest) -> bytes:
    """Return a manifest as the JSON document that stands in the backup."""
    document = {"format": FORMAT, **asdict(manifest)}
    return json.dumps(document, ensure_ascii=False, indent=1).encode()


def read_manifest(data: bytes) -> Manifest:
    """Read a manifest.

    Raises: InputError for what is none, or for one in a later format.
    """
    try:
        document = json.loads(data)
        number = document["format"]
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        raise InputError("The backup's manifest cannot be read. Take another backup.") from error
    if number != FORMAT:
        raise InputError(
            f"The backup has format {number!r}, and this fraginv reads format {FORMAT}. "
            "Restore it with the fraginv that made it."
        )
    try:
        return manifest_of(document)
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise InputError(
            f"The backup's manifest lacks something or is damaged ({error}). Take another backup."
        ) from error


def manifest_of(document: Mapping[str, Any]) -> Manifest:
    """Return the manifest that a JSON document describes.

    Raises: KeyError, TypeError or ValueError for what is missing or of another kind.
    """
    if document["engine"] not in DATABASES:
        raise ValueError(f"unknown engine {document['engine']!r}")
    return Manifest(
        version=text_of(document["version"]),
        made_at=text_of(document["made_at"]),
        engine=document["engine"],
        engine_version=text_of(document["engine_version"]),
        migrations=[(text_of(app), text_of(name)) for app, name in document["migrations"]],
        rows={text_of(table): count_of(rows) for table, rows in document["rows"].items()},
        entries=[
            Entry(text_of(row["path"]), count_of(row["size"]), text_of(row["sha256"]))
            for row in document["entries"]
        ],
        problems=[text_of(problem) for problem in document["problems"]],
    )


def text_of(value: object) -> str:
    """Return a text of a document.

    Raises: TypeError for what is none.
    """
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def count_of(value: object) -> int:
    """Return a count of a document.

    Raises: TypeError or ValueError for what is none.
    """
    if not isinstance(value, int) or isinstance(value, bool):
        raise TypeError(f"{value!r} is no number")
    if value < 0:
        raise ValueError(f"{value} is below zero")
    return value


def is_safe(path: str) -> bool:
    """Tell whether a path of a backup stays in the place that is meant for it."""
    first, *rest = path.split("/")
    if not rest:
        return path in {MANIFEST, KEY, *DATABASES.values()}
    return first in FOLDERS and all(
        PART.fullmatch(part) and part not in {".", ".."} for part in rest
    )


def check_entries(manifest: Manifest, *, found: Iterable[tuple[str, int]]) -> None:
    """Refuse a backup whose files are not those of its manifest, by path and size.

    Args: ``found`` every path in the archive with the size that it declares.
    Raises: InputError naming the first path that is unsafe, there twice, missing,
        not listed or of another size.
    """
    sizes: dict[str, int] = {}
    for path, size in found:
        if not is_safe(path):
            raise InputError(f"The backup holds {path!r}, a path that leads astray. Do not use it.")
        if path in sizes:
            raise InputError(f"The backup holds {path} twice. Do not use it.")
        sizes[path] = size
    sizes.pop(MANIFEST, None)
    for entry in manifest.entries:
        if sizes.pop(entry.path, None) != entry.size:
            raise InputError(
                f"{entry.path} is missing in the backup or has another size than its manifest "
                "says. Take another backup."
            )
    if sizes:
        raise InputError(f"{min(sizes)} is in the backup and not in its manifest. Do not use it.")
    listed = [entry.path for entry in manifest.entries]
    for needed in (manifest.database, KEY):
        if listed.count(needed) != 1:
            raise InputError(f"The backup holds no {needed}. Take another backup.")
