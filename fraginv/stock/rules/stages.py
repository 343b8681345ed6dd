"""The stages of a frag, its sizes, and what takes it out of sale."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Stage(StrEnum):
    """Where a frag stands on its way; from ``SOLD`` on it has left the troughs as a frag."""

    HEALING = "healing"
    GROWING = "growing"
    READY = "ready"
    SOLD = "sold"
    LOST = "lost"
    GIVEN = "given"
    KEPT = "kept"
    JOINED = "joined"


LIVING: Final = frozenset({Stage.HEALING, Stage.GROWING, Stage.READY})
ENDED: Final = frozenset(Stage) - LIVING

SIZES: Final[dict[str, str]] = {"S": "S", "M": "M", "L": "L", "mini": "Mini-colony"}

CAUSES: Final[dict[str, str]] = {
    "rtn": "RTN or STN (tissue necrosis)",
    "brown jelly": "Brown jelly",
    "bail-out": "Bail-out",
    "bleaching": "Bleaching",
    "pest": "Pest",
    "stung": "Stung by a neighbour",
    "eaten": "Eaten",
    "fell": "Fell",
    "overgrown": "Overgrown",
    "broken": "Broken",
    "overflow": "Lost down the overflow",
    "unknown": "Unknown",
}

# What a look may find wrong with a frag that lives.
TROUBLES: Final[dict[str, str]] = {
    "rtn": "RTN or STN (tissue necrosis)",
    "brown jelly": "Brown jelly",
    "bleaching": "Bleaching",
    "pest": "Pest",
    "algae": "Algae",
    "fallen": "Fallen",
    "stung": "Stung by a neighbour",
    "overgrown": "Overgrown",
    "other": "Something else",
}

# What frags are given away for.
GIFTS: Final[dict[str, str]] = {
    "replacement": "Replacement",
    "sale": "With a sale",
    "school": "School",
    "raffle": "Raffle",
    "staff": "Staff",
    "other": "Other",
}

MEDIUMS: Final[dict[str, str]] = {"plug": "Plug", "disc": "Disc", "tile": "Tile"}


ENDED_WORDS: Final[dict[str, str]] = {
    Stage.KEPT: "it is kept as a colony",
    Stage.JOINED: "it has grown together with another",
}


def say_trouble(wrong: str) -> str:
    """Say what is wrong with a frag: *not well: bleaching*; nothing where it is fine."""
    if not wrong:
        return ""
    words = TROUBLES.get(wrong, wrong)
    is_short = words[1:2].isupper()
    return f"not well: {words if is_short else words[0].lower() + words[1:]}"


@dataclass(frozen=True)
class Standing:
    """What decides whether a frag may be sold now."""

    stage: str
    apart: bool = False
    quarantined: bool = False
    kept_back: bool = False
    barred: bool = False
    stopped: bool = False


def why_not_for_sale(standing: Standing) -> str:
    """Say in a few words why a frag is not for sale, or nothing where it is."""
    if standing.barred:
        return "its colony is barred from sale"
    if standing.stopped:
        return "a stop-sale holds for it"
    if standing.quarantined:
        return "it is in quarantine"
    if standing.apart:
        return "it is set apart"
    if standing.kept_back:
        return "it is kept back"
    if standing.stage in ENDED:
        return ENDED_WORDS.get(standing.stage, f"it is {standing.stage} already")
    if standing.stage != Stage.READY:
        return f"it is still {standing.stage}: grade it ready first"
    return ""
