"""The one place that draws lots."""

import random
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

seeded_by: ContextVar[random.Random | None] = ContextVar("seeded_by", default=None)


def choice(characters: str) -> str:
    """Draw one character, unforeseeably, or repeatably inside ``seeded``."""
    source = seeded_by.get()
    return secrets.choice(characters) if source is None else source.choice(characters)


def between(low: float, high: float) -> float:
    """Draw a number from a span, unforeseeably."""
    return secrets.SystemRandom().uniform(low, high)


def token() -> str:
    """Draw a secret of 256 bits as text that may stand in an address; never a repeatable one."""
    return secrets.token_urlsafe(32)


@contextmanager
def seeded(seed: int) -> Iterator[random.Random]:
    """Draw the same lots every time inside the block (demo, tests)."""
    source = random.Random(seed)  # noqa: S311 repeatable on purpose
    token = seeded_by.set(source)
    try:
        yield source
    finally:
        seeded_by.reset(token)
