"""What becomes of pictures that come in."""

from enum import StrEnum


class State(StrEnum):
    """Where a picture that came in stands; ``TRAY`` waits for a person to file it."""

    WAITING = "waiting"
    FILED = "filed"
    TRAY = "tray"
    REFUSED = "refused"
    DISCARDED = "discarded"
