"""Files that a command hands over: there whole, or not at all."""

import os
import secrets
from pathlib import Path

from fraginv.base.errors import InputError


def write_whole(file: Path, data: bytes) -> None:
    """Write a file in one step, so that nobody ever reads half of it.

    Raises: InputError naming the file when there cannot be such a file.
    """
    if file.is_dir():
        raise InputError(f"{file} is a folder. Name a file.")
    draft = file.with_name(f".{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    try:
        draft.write_bytes(data)
        draft.replace(file)
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror}. Name another.") from error
    finally:
        draft.unlink(missing_ok=True)
