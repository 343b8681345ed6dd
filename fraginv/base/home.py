"""The folder in which everything that a run leaves behind is kept."""

import os
import secrets
from pathlib import Path


def signing_key(home: Path) -> str:
    """Return the home's signing key; the first run makes it, readable to its owner alone.

    Raises: OSError where the home cannot be written.
    """
    home.mkdir(parents=True, exist_ok=True)
    file = home / "signing.key"
    if not file.exists():
        write_once(file, secrets.token_urlsafe(50))
    return file.read_text(encoding="ascii").strip()


def write_once(file: Path, text: str) -> None:
    """Write a new file whole, or leave the one that another process made first."""
    draft = file.with_name(f"{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
    descriptor = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as handle:
        handle.write(text)
    try:
        os.link(draft, file)
    except FileExistsError:
        pass
    finally:
        draft.unlink()
