"""What a list of cuttings may be narrowed to, and in which words that is said."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from fraginv.stock.rules.cutting import TOOLS
from fraginv.stock.rules.stages import MEDIUMS

# Each filter of a few words, its label and its choices.
WORDS: Final[dict[str, tuple[str, dict[str, str]]]] = {
    "medium": ("On", {medium: f"on {words.lower()}s" for medium, words in MEDIUMS.items()}),
    "tool": ("Tool", {tool: words.lower() for tool, words in TOOLS.items()}),
    "lot": ("Labels", {"yes": "one for all, as a lot", "no": "one for each"}),
    "lost": ("Losses at the bench", {"yes": "some lost", "no": "none lost"}),
    "rest": ("Rest", {"yes": "cut under rest", "no": "not under rest"}),
}


@dataclass(frozen=True)
class CuttingFilter:
    """What a list of cuttings is narrowed to; what is left empty narrows nothing.

    ``colony`` is a code, ``variety``, ``genus`` and ``by`` are ids, both days included.
    """

    text: str = ""
    colony: str = ""
    variety: int | None = None
    genus: int | None = None
    group: str = ""
    by: int | None = None
    first: date | None = None
    last: date | None = None
    medium: str = ""
    tool: str = ""
    lot: str = ""
    lost: str = ""
    rest: str = ""


def filter_words(name: str, value: str) -> str:
    """Say what is asked of one filter."""
    return WORDS[name][1][value]


def days_words(first: date | None, last: date | None) -> str:
    """Say which days are asked for, nothing where none is."""
    if first is not None and first == last:
        return f"on {first.isoformat()}"
    if first is not None and last is not None:
        return f"from {first.isoformat()} to {last.isoformat()}"
    if first is not None:
        return f"since {first.isoformat()}"
    return f"until {last.isoformat()}" if last is not None else ""
