"""Files that a command hands over: there whole, or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fraginv.base.errors import InputError


def write_whole(file: Path, data: bytes) -> None:
    """Write a file in one step, so that nobody ever reads half of it.

    Raises: InputError naming the file when there cannot be such a file.
    """
    with written_whole(file) as draft:
        draft.write_bytes(data)


@contextmanager
def written_whole(file: Path) -> Iterator[Path]:
    """Give a draft beside a file; it takes the file's place at the end, or goes.

    Raises: InputError naming the file when there cannot be such a file.
    """
    if file.is_dir():
        raise InputError(f"{file} is a folder. Name a file.")
    draft = file.with_name(f".{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    try:
        draft.touch(exist_ok=False)
        yield draft
        draft.replace(file)
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror}. Name another.") from error
    finally:
        draft.unlink(missing_ok=True)
