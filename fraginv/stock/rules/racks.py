"""What can happen to a rack, and how its holes lie."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any, Final

Hole = tuple[int, int]
MOST_ACROSS: Final = 40


class RackKind(StrEnum):
    """The kinds of events of a rack; each concerns all that stands in it."""

    SEEN = "seen"
    COUNTED = "counted"
    MOVED = "moved"
    TURNED = "turned"
    EMPTIED = "emptied"


# At these somebody had all that stands in the rack before their eyes.
LOOKED_AT: Final = frozenset({RackKind.SEEN, RackKind.COUNTED})
# After one of these a rack is not where, or not as, the page before showed it.
SHIFTED: Final = frozenset({RackKind.MOVED, RackKind.TURNED, RackKind.EMPTIED})


@dataclass(frozen=True)
class RackState:
    """What a rack's events tell of it; None where they tell nothing."""

    seen_on: date | None = None
    turned: bool | None = None
    trough: int | None = None


def follow_rack(state: RackState, *, kind: str, day: date, body: Mapping[str, Any]) -> RackState:
    """Return what is told of a rack after one more event."""
    if kind in LOOKED_AT:
        return replace(state, seen_on=max(day, state.seen_on or day))
    if kind == RackKind.TURNED:
        return replace(state, turned=body["turned"])
    if kind == RackKind.MOVED:
        return replace(state, trough=body["to"])
    return state


def holes(rows: int, columns: int, *, turned: bool = False) -> Iterator[Hole]:
    """Yield the holes of a rack as one reads them where it stands, line by line.

    Turned round, the last hole of the last row lies first.
    """
    step = -1 if turned else 1
    for row in range(1, rows + 1)[::step]:
        for column in range(1, columns + 1)[::step]:
            yield row, column


def free_holes(all_holes: Iterable[Hole], *, taken: Iterable[Hole]) -> Iterator[Hole]:
    """Yield the holes in which nothing stands, in their order."""
    full = set(taken)
    return (hole for hole in all_holes if hole not in full)


def is_in_grid(hole: Hole, *, rows: int, columns: int) -> bool:
    """Tell whether a rack has a hole."""
    return 1 <= hole[0] <= rows and 1 <= hole[1] <= columns
