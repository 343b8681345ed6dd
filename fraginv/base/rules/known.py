"""Things that a table may name, and what to say of a name that is none of them."""

from collections.abc import Mapping
from difflib import get_close_matches
from functools import cached_property
from typing import Final, Generic, TypeVar

T = TypeVar("T")

LIKENESS: Final = 0.6
MOST_HINTS: Final = 50


def fold(name: str) -> str:
    """Return a name in lower case with single spaces, for comparing."""
    return " ".join(name.split()).casefold()


class Known(Generic[T]):
    """Things by their folded names.

    Looking for what is much like a name takes time for each, so only the first ones are
    looked for.
    """

    def __init__(self, things: Mapping[str, tuple[str, T]], *, what: str, mend: str) -> None:
        """Take each thing with its name as it is written, by its folded name.

        Args: ``what`` they are called, as in *a known variety*; ``mend`` what to do about
            a name that is none of them.
        """
        self.things = things
        self.what = what
        self.mend = mend
        self.hints: dict[str, str] = {}

    @cached_property
    def names(self) -> list[str]:
        """Return all folded names."""
        return list(self.things)

    def get(self, name: str) -> T | None:
        """Return what has a name, in whatever capitals, or None."""
        found = self.things.get(fold(name))
        return found[1] if found else None

    def why_unknown(self, name: str) -> str:
        """Say that a name is unknown, which one is much like it, and what to do."""
        return f"{name} is not {self.what}. {self.hint(fold(name))}"

    def hint(self, folded: str) -> str:
        """Return what to do about an unknown name, with one much like it where there is one."""
        if not self.things:
            return f"There are none yet. {self.mend}"
        if folded not in self.hints:
            near: list[str] = []
            if len(self.hints) < MOST_HINTS:
                near = get_close_matches(folded, self.names, n=1, cutoff=LIKENESS)
            named = f"The nearest is {self.things[near[0]][0]}. " if near else ""
            self.hints[folded] = named + self.mend
        return self.hints[folded]
