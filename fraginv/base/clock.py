"""The one place that asks what time it is."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

frozen: ContextVar[datetime | None] = ContextVar("frozen", default=None)


def now() -> datetime:
    """Return the present moment in UTC, or the one set by ``at``."""
    return frozen.get() or datetime.now(UTC)


@contextmanager
def at(moment: datetime) -> Iterator[None]:
    """Let ``now`` answer ``moment`` inside the block (demo, imports, tests)."""
    token = frozen.set(moment.astimezone(UTC))
    try:
        yield
    finally:
        frozen.reset(token)
