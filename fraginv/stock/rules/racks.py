"""What can happen to a rack."""

from enum import StrEnum


class RackKind(StrEnum):
    """The kinds of events of a rack; each concerns all that stands in it."""

    SEEN = "seen"
    COUNTED = "counted"
    MOVED = "moved"
    TURNED = "turned"
    EMPTIED = "emptied"
