"""Folders with rights, and a user for whom they count."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp

NOBODY = 65534


@contextmanager
def open_folder(*, mode: int) -> Iterator[Path]:
    """Give a folder that everybody finds, with these rights for everybody."""
    folder = Path(mkdtemp(prefix="fraginv-home-"))
    folder.chmod(0o755)
    (folder / "home").mkdir()
    (folder / "home").chmod(mode)
    try:
        yield folder / "home"
    finally:
        (folder / "home").chmod(0o700)
        shutil.rmtree(folder)


@contextmanager
def as_somebody() -> Iterator[None]:
    """Be a user whose rights count; a superuser, who may do all, becomes *nobody* meanwhile."""
    if os.geteuid():
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)
