"""How a size was come by."""

from enum import StrEnum


class OutlineBy(StrEnum):
    """Who drew an outline: accepted as suggested, moved by a person, or drawn from nothing."""

    SUGGESTED = "suggested"
    ADJUSTED = "adjusted"
    DRAWN = "drawn"
