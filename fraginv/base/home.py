"""The folder in which everything that a run leaves behind is kept."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fraginv.base.errors import InputError

KEY_FILE = "signing.key"
LOCK_FILE = "serving.lock"
OWNER_ALONE = 0o600
OTHERS = 0o077


def signing_key(home: Path) -> str:
    """Return the home's signing key; the first run makes it, readable to its owner alone.

    Raises: InputError where the home cannot be made, written or read.
    """
    with home_in_words(home):
        make_home(home)
        file = home / KEY_FILE
        if not file.exists():
            write_once(file, secrets.token_urlsafe(50))
        key = file.read_text(encoding="ascii", errors="replace").strip()
    if not key or not key.isascii():
        raise InputError(
            f"{file} holds no signing key. Bring back the one of the last backup, or delete the "
            "file: a new one is made, and everybody signs in anew."
        )
    return key


def make_home(home: Path) -> None:
    """Make the home if there is none, open to its owner alone; one that is there stays as it is."""
    if not home.is_dir():
        home.parent.mkdir(parents=True, exist_ok=True)
        home.mkdir(mode=0o700, exist_ok=True)


def close_key(home: Path) -> bool:
    """Take from others the right to read the signing key.

    Returns: whether they had it.
    Raises: InputError where it cannot be taken.
    """
    file = home / KEY_FILE
    with home_in_words(home):
        if not file.stat().st_mode & OTHERS:
            return False
        file.chmod(OWNER_ALONE)
    return True


@contextmanager
def home_in_words(home: Path) -> Iterator[None]:
    """Turn what the disk refuses into a sentence.

    Raises: InputError.
    """
    try:
        yield
    except OSError as error:
        where = f" ({error.filename})" if error.filename not in {None, str(home)} else ""
        raise InputError(
            f"The home {home} cannot be used: {error.strerror or error}{where}. Let it be a folder "
            "with room that this user may write to, or set FRAGINV_HOME to such a one."
        ) from error


def write_once(file: Path, text: str) -> None:
    """Write a new file whole, or leave the one that another process made first."""
    draft = drafted(file, text)
    try:
        os.link(draft, file)
    except FileExistsError:
        pass
    finally:
        draft.unlink()


def write_anew(file: Path, text: str) -> None:
    """Write a file whole in place of the one that may be there, readable to its owner alone."""
    drafted(file, text).replace(file)


def drafted(file: Path, text: str) -> Path:
    """Write a text beside a file, readable to its owner alone; nothing is left where it fails."""
    draft = file.with_name(f"{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, OWNER_ALONE)
    try:
        with os.fdopen(descriptor, "w", encoding="ascii") as handle:
            handle.write(text)
    except OSError:
        draft.unlink()
        raise
    return draft
