"""What backups that are made by themselves are called, and which of them are kept."""

import re
from collections.abc import Iterable
from datetime import UTC, datetime

NIGHTLY = re.compile(r"fraginv-\d{4}-\d{2}-\d{2}-\d{6}(-incomplete)?\.zip")
LEFT_OVER = re.compile(r"\.fraginv-[\w.-]+\.part(\.sqlite3(-journal|-wal|-shm)?)?")


def stamp_of(moment: datetime) -> str:
    """Return a moment as file names carry it, in UTC."""
    return moment.astimezone(UTC).strftime("%Y-%m-%d-%H%M%S")


def nightly_name(moment: datetime) -> str:
    """Return what the backup of a night is called."""
    return f"fraginv-{stamp_of(moment)}.zip"


def incomplete_name(name: str) -> str:
    """Return what a nightly backup is called whose files were not all in the store."""
    return f"{name.removesuffix('.zip')}-incomplete.zip"


def upgrade_name(moment: datetime, *, version: str) -> str:
    """Return what the backup before an upgrade is called, by the version that comes."""
    return f"before-{version}-{stamp_of(moment)}.zip"


def too_many(names: Iterable[str], *, keep: int, made: str) -> list[str]:
    """Return the nightly backups that go: all but the newest, and never the one just made.

    Newest is by name, for a clock that jumped back must not make a later one
    look old. Incomplete ones are counted by themselves, so that they never
    push out a good one. What is not called like a nightly backup is left alone.
    Args: ``keep`` at least 1.
    """
    ours = sorted((name for name in names if NIGHTLY.fullmatch(name)), reverse=True)
    good = [name for name in ours if not name.endswith("-incomplete.zip")]
    rest = [name for name in ours if name.endswith("-incomplete.zip")]
    return sorted(name for name in [*good[keep:], *rest[keep:]] if name != made)
