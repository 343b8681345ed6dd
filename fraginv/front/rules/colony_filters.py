"""What a list of colonies may be narrowed to, and in which words that is said."""

from dataclasses import dataclass
from typing import Final

from fraginv.stock.rules.colonies import ORIGINS, STATES, State

ALL: Final = "all"
LIVING: Final = ""

# What can be asked of the state, and its word.
STATES_ASKED: Final[dict[str, str]] = {
    LIVING: "living",
    ALL: "all",
    **{state: words.lower() for state, words in STATES.items() if state != State.LIVING},
}
REST: Final[dict[str, str]] = {"may": "may be cut now", "resting": "under rest"}
BAR: Final[dict[str, str]] = {"barred": "barred", "free": "not barred"}
PAPER: Final[dict[str, str]] = {"missing": "no paper of its origin"}
OWNER: Final[dict[str, str]] = {"ours": "ours", "others": "owned by others"}

# Each filter with more than a text, its label and its choices.
WORDS: Final[dict[str, tuple[str, dict[str, str]]]] = {
    "rest": ("Rest", REST),
    "bar": ("Bar", BAR),
    "paper": ("Paper", PAPER),
    "owner": ("Owner", OWNER),
    "origin": ("Origin", {origin: words.lower() for origin, words in ORIGINS.items()}),
}


@dataclass(frozen=True)
class ColonyFilter:
    """What a list of colonies is narrowed to; what is left empty narrows nothing."""

    state: str = LIVING
    text: str = ""
    group: str = ""
    rest: str = ""
    bar: str = ""
    paper: str = ""
    owner: str = ""
    origin: str = ""

    @property
    def states(self) -> tuple[str, ...]:
        """Return the states that are asked for."""
        if self.state == ALL:
            return tuple(state.value for state in State)
        return (self.state or State.LIVING.value,)


def filter_words(name: str, value: str) -> str:
    """Say what is asked of one filter."""
    return WORDS[name][1][value]
