"""Where colonies come from, on what papers, what may bar them, and how they leave."""

from enum import StrEnum
from typing import Final


class Origin(StrEnum):
    """How a coral came to be here."""

    CUT_HERE = "cut here"
    BOUGHT = "bought"
    TRADED = "traded"
    DONATED = "donated"
    SEIZED = "seized"
    ON_LOAN = "on loan"
    BROKEN_OFF = "broken off"


ORIGINS: Final[dict[str, str]] = {
    Origin.CUT_HERE: "Cut here",
    Origin.BOUGHT: "Bought",
    Origin.TRADED: "Traded",
    Origin.DONATED: "Donated",
    Origin.SEIZED: "Seized, placed here by an authority",
    Origin.ON_LOAN: "On loan",
    Origin.BROKEN_OFF: "Broken off in the display, mother unknown",
}


class State(StrEnum):
    """What became of a colony; only a living one is cut."""

    LIVING = "living"
    DEAD = "dead"
    SOLD = "sold"
    GIVEN = "given"
    DISPLAYED = "displayed"


class ColonyKind(StrEnum):
    """The kinds of events of a colony."""

    CAME_IN = "came in"
    KEPT = "kept"
    CHANGED = "changed"
    MOVED = "moved"
    PAPER = "paper"
    BARRED = "barred"
    LIFTED = "lifted"
    DIED = "died"
    SOLD_WHOLE = "sold whole"
    GIVEN = "given"
    DISPLAYED = "displayed"
    BACK = "back"


class BarKind(StrEnum):
    """Why a colony may be neither cut nor sold nor given."""

    AUTHORITY = "authority"
    LOAN = "loan"
    RESEARCH = "research"
    PERMIT = "permit"


BAR_KINDS: Final[dict[str, str]] = {
    BarKind.AUTHORITY: "Held for an authority",
    BarKind.LOAN: "On loan",
    BarKind.RESEARCH: "For research",
    BarKind.PERMIT: "Bound by a permit",
}

# Source: CITES Res. Conf. 12.3 (as revised) and 50 CFR 23.24; the words for R, W, U and I from
# memory. Code A is for plants and left out.
SOURCE_CODES: Final[dict[str, str]] = {
    "W": "W: taken from the wild",
    "R": "R: ranched, reared from early life stages",
    "C": "C: bred in captivity, to the full definition",
    "F": "F: born or grown in captivity, short of C",
    "D": "D: Appendix I, bred at a registered operation",
    "I": "I: seized or confiscated",
    "U": "U: unknown, to be explained",
    "O": "O: from before the convention, with another code",
}
