"""What a count of a rack found, and how what is missing or too many is settled."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Fate(StrEnum):
    """What becomes of what a count did not find, or found too many of."""

    LOST = "lost"
    LOOKED = "looked"
    ELSEWHERE = "elsewhere"
    FOUND = "found"
    LEFT = "left"


# For whole frags that are missing, for lots with fewer, for lots with more; the first of the
# missing is what holds unless something else is said, and writes nothing off.
OF_MISSING: Final = (Fate.LOOKED, Fate.ELSEWHERE, Fate.LOST)
OF_SHORT: Final = (Fate.LOST, Fate.LEFT)
OF_OVER: Final = (Fate.FOUND, Fate.LEFT)
# How a fate is told once it is settled.
SAID: Final[Mapping[Fate, str]] = {
    Fate.LOST: "lost",
    Fate.LOOKED: "still looked for",
    Fate.ELSEWHERE: "elsewhere",
    Fate.FOUND: "found",
    Fate.LEFT: "left as written",
}
FATE_WORDS: Final[Mapping[Fate, str]] = {
    Fate.LOST: "Lost",
    Fate.LOOKED: "Still looked for: its place is not known, and it stays for sale if it is",
    Fate.ELSEWHERE: "Is elsewhere, in the rack chosen below",
    Fate.FOUND: "Yes, so many are there",
    Fate.LEFT: "Leave the number as it was",
}


@dataclass(frozen=True)
class Gap:
    """A frag of which a count found another number of pieces than are written down."""

    frag: int
    pieces: int
    found: int

    @property
    def short(self) -> int:
        """Return how many pieces are missing; below zero where there are more."""
        return self.pieces - self.found

    @property
    def fates(self) -> tuple[Fate, ...]:
        """Return what may become of it, in the order in which it is offered."""
        if self.found > self.pieces:
            return OF_OVER
        return OF_SHORT if self.found else OF_MISSING


@dataclass(frozen=True)
class Settled:
    """How one gap is settled; ``cause`` is for what is lost."""

    fate: Fate
    cause: str = "unknown"


def gaps_of(expected: Mapping[int, int], *, there: Mapping[int, int]) -> list[Gap]:
    """Return where a count differs from what is written down, by frag.

    Frags that the count did not ask about, because they came or left meanwhile, are no gaps.
    Args: ``expected`` and ``there`` are pieces by frag.
    """
    return [
        Gap(frag, pieces, there[frag])
        for frag, pieces in sorted(expected.items())
        if there.get(frag, pieces) != pieces
    ]


def found_in(expected: Mapping[int, int], *, there: Mapping[int, int]) -> int:
    """Return how many of the expected pieces were found, those of which too many are in full."""
    return sum(there.get(frag, pieces) for frag, pieces in expected.items())


def tally(fates: Iterable[tuple[str, int]]) -> dict[str, int]:
    """Add up pieces by what became of them."""
    total: dict[str, int] = {}
    for words, count in fates:
        total[words] = total.get(words, 0) + count
    return total


def say_tally(settled: Mapping[str, int], *, cause: str) -> str:
    """Say what a count came to: *2 lost (unknown), 1 still looked for*; nothing for nothing.

    Args: ``settled`` is as ``tally`` returns it, ``cause`` a key of ``CAUSES`` for what was lost.
    """
    lost = SAID[Fate.LOST]
    return ", ".join(
        f"{count} {words}" + (f" ({cause})" if words == lost else "")
        for words, count in settled.items()
    )
