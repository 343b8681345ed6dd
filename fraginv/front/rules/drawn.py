"""A rack as it is drawn: which form, letter and words each hole gets."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

from fraginv.stock.rules.racks import Hole, RackKind, holes

T = TypeVar("T")

# What holds beside a stage, the most urgent first: letter and words. Keys as those of tags.
MARKS: Final[Mapping[str, tuple[str, str]]] = {
    "stop-sale": ("S", "stop-sale"),
    "wrong": ("!", "not well"),
    "late": ("O", "overdue"),
    "quarantined": ("Q", "quarantine"),
    "apart": ("A", "set apart"),
    "held": ("H", "held"),
    "kept": ("K", "kept back"),
    "barred": ("B", "barred"),
    "fresh": ("F", "fresh cut"),
    "likely": ("L", "likely ready"),
}
SHOWN_MARKS: Final = 2
# So many holes side by side are drawn to the width of a phone; more are moved past its window.
FIT_ACROSS: Final = 12


@dataclass(frozen=True)
class Mark:
    """A letter in a hole, and the words that it stands for."""

    key: str
    letter: str
    words: str


@dataclass(frozen=True)
class Line(Generic[T]):
    """One row of a rack: its number and what stands in each of its holes, None for nothing."""

    row: int
    cells: Sequence[tuple[Hole, T | None]]


def marks_of(keys: Iterable[str]) -> tuple[Mark, ...]:
    """Return the marks for what holds, the most urgent first."""
    held = set(keys)
    return tuple(Mark(key, *told) for key, told in MARKS.items() if key in held)


def lines_of(standing: Mapping[Hole, T], *, rows: int, columns: int, turned: bool) -> list[Line[T]]:
    """Return a rack line by line as one sees it where it stands."""
    cells = [(hole, standing.get(hole)) for hole in holes(rows, columns, turned=turned)]
    parts = [cells[start : start + columns] for start in range(0, len(cells), columns)]
    return [Line(part[0][0][0], part) for part in parts]


def columns_of(columns: int, *, turned: bool) -> list[int]:
    """Return the numbers of the holes in a row from left to right."""
    numbers = list(range(1, columns + 1))
    return numbers[::-1] if turned else numbers


def say_hole(hole: Hole | None) -> str:
    """Name a hole."""
    return f"row {hole[0]}, hole {hole[1]}" if hole else "hole not known"


def say_seen(days: int | None) -> str:
    """Say how long ago somebody looked."""
    if days is None:
        return "not seen yet"
    if days <= 0:
        return "seen today"
    return "seen yesterday" if days == 1 else f"seen {days} days ago"


def say_event(kind: str, body: Mapping[str, Any]) -> str:
    """Say in a few words what happened to a rack, and to what came out of stopped water."""
    apart = f"; {body['apart']} set apart" if body.get("apart") else ""
    return say_kind(kind, body) + apart


def say_kind(kind: str, body: Mapping[str, Any]) -> str:
    """Say in a few words what happened to a rack."""
    if kind == RackKind.TURNED:
        return "Turned round" if body["turned"] else "Turned back"
    if kind == RackKind.MOVED:
        return "Moved to another trough"
    if kind == RackKind.EMPTIED:
        return f"Emptied: {say_frags(body['frags'])} to another rack"
    if kind == RackKind.COUNTED:
        return f"Counted: {body['found']} found of {body['expected']}{say_settled(body['settled'])}"
    checked = body.get("checked")
    return f"Seen, fine: {say_frags(checked)} clean in quarantine" if checked else "Seen, fine"


def say_settled(settled: Mapping[str, int]) -> str:
    """Say how what was missing or too many in a count was settled, or nothing."""
    told = [f"{count} {words}" for words, count in settled.items() if count]
    return f" ({', '.join(told)})" if told else ""


def say_frags(count: int) -> str:
    """Count frags in words."""
    return f"{count} frag" if count == 1 else f"{count} frags"
