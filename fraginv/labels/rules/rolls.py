"""Blank labels of one roll as rows without gaps."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stretch:
    """Hold a row of blank labels without a gap: its first code and place, and how many."""

    first: str
    position: int
    length: int

    @property
    def number(self) -> int:
        """Return the number that stands on the first label, counted from 1."""
        return self.position + 1


def stretches(places: Sequence[tuple[int, str]]) -> list[Stretch]:
    """Join blank labels into rows without gaps.

    Args: the place of each on the roll, and its code, in the order of places.
    """
    rows: list[Stretch] = []
    for position, code in places:
        last = rows[-1] if rows else None
        if last and position == last.position + last.length:
            rows[-1] = Stretch(last.first, last.position, last.length + 1)
        else:
            rows.append(Stretch(code, position, 1))
    return rows
