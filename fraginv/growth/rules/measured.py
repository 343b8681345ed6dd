"""How a size was come by."""

from enum import StrEnum


class Scale(StrEnum):
    """What in the photo a size was measured against."""

    CARD = "card"
    LABEL = "label"
    POINTS = "points"


class OutlineBy(StrEnum):
    """Who drew an outline: accepted as suggested, moved by a person, or drawn from nothing."""

    SUGGESTED = "suggested"
    ADJUSTED = "adjusted"
    DRAWN = "drawn"
