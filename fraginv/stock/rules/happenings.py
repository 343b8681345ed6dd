"""What a frag's events and its present are made of."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """The kinds of events of a frag."""

    CUT = "cut"
    RECEIVED = "received"
    SPLIT = "split"
    JOINED = "joined"
    REMOUNTED = "remounted"
    RELABELLED = "relabelled"
    PLACED = "placed"
    INSPECTED = "inspected"
    PHOTOGRAPHED = "photographed"
    SIZED = "sized"
    DIPPED = "dipped"
    GRADED = "graded"
    SET_APART = "set apart"
    QUARANTINED = "quarantined"
    RELEASED = "released"
    KEPT_BACK = "kept back"
    HELD = "held"
    LET_GO = "let go"
    SOLD = "sold"
    RETURNED = "returned"
    LOST = "lost"
    UNDONE = "undone"
    FOUND = "found"
    GIVEN = "given"
    KEPT = "kept as colony"


Body = Mapping[str, Any]


@dataclass(frozen=True)
class FragState:
    """The present of a frag, as its events tell it."""

    stage: str = ""
    pieces: int = 0
    free: int = 0
    apart: bool = False
    quarantined: bool = False
    quarantined_on: date | None = None
    clean_checks: int = 0
    checked_on: date | None = None
    kept_back: bool = False
    fresh: bool = False
    wrong: str = ""
    dip_due_on: date | None = None
    seen_on: date | None = None
    new_medium: str = ""
    size: str = ""
    heads: int | None = None
    rack: int | None = None
    hole_row: int | None = None
    hole_column: int | None = None
    ready_on: date | None = None
    ended_on: date | None = None


@dataclass(frozen=True)
class Happening:
    """One event: what, on which business day, and its body."""

    kind: Kind
    day: date
    body: Body
