"""Backups for tests: opened by other means, and changed on purpose."""

import hashlib
import json
import resource
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.house.tree import ROOT

KEPT = ROOT / "fixtures" / "homes" / "A.zip"
MANIFEST = "manifest.json"

Contents = dict[str, bytes]


def contents_of(file: Path) -> Contents:
    """Return every file in a backup."""
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def manifest_of(file: Path) -> dict[str, Any]:
    """Return a backup's manifest as JSON says it."""
    document: dict[str, Any] = json.loads(contents_of(file)[MANIFEST])
    return document


def rewritten(
    file: Path,
    target: Path,
    *,
    contents: Callable[[Contents], None] = lambda contents: None,
    manifest: Callable[[dict[str, Any]], None] = lambda manifest: None,
    honest: bool = False,
) -> Path:
    """Write a backup anew with other contents; an honest one has the hashes of what it holds."""
    held = contents_of(file)
    document = json.loads(held.pop(MANIFEST))
    contents(held)
    if honest:
        document["entries"] = [
            {"path": path, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for path, data in held.items()
        ]
    manifest(document)
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, data in held.items():
            archive.writestr(path, data)
        archive.writestr(MANIFEST, json.dumps(document))
    return target


@contextmanager
def no_file_larger_than(size: int) -> Iterator[None]:
    """Let the system refuse to write a file beyond a size, as a full disk does.

    Source: POSIX, setrlimit: RLIMIT_FSIZE; Python ignores the signal that comes with it.
    """
    before, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, most))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (before, most))
