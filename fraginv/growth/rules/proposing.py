"""What a picture that nobody could file may show: by label, scan, work, sequence and place."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from fraginv.stock.rules.racks import Hole

MOST: Final = 6
OF_SCANS: Final = 3
OF_WORK: Final = 2
# Who scans and then shoots does so at once; who comes back does so within the walk.
SCANNED_WITHIN: Final = timedelta(minutes=10)
WORKED_WITHIN: Final = timedelta(minutes=10)
SHOT_WITHIN: Final = timedelta(minutes=10)
# The phone's clock in the picture counts whole seconds.
SLACK: Final = timedelta(seconds=5)

Scanned = Sequence[tuple[str, datetime]]


@dataclass(frozen=True)
class Proposal:
    """One thing that a picture may show, by its code, and why."""

    code: str
    why: str


def passed(span: timedelta) -> str:
    """Say how long something was before or after."""
    seconds = round(abs(span).total_seconds())
    if seconds < 90:
        return f"{seconds} s"
    return f"{round(seconds / 60)} min"


def by_label(codes: Iterable[str]) -> list[Proposal]:
    """Propose what is named by a label in the picture."""
    return [Proposal(code, "its label is in the picture") for code in codes]


def by_scan(scanned: Scanned, *, taken_at: datetime | None) -> list[Proposal]:
    """Propose what the phone had scanned shortly before it took the picture, the latest first."""
    if taken_at is None:
        return []
    before = [(taken_at - at, code) for code, at in scanned]
    near = sorted((gap, code) for gap, code in before if -SLACK <= gap <= SCANNED_WITHIN)
    return [Proposal(code, f"scanned {passed(gap)} before") for gap, code in near][:OF_SCANS]


def by_work(done: Scanned, *, taken_at: datetime | None) -> list[Proposal]:
    """Propose what the same person had in hand shortly before."""
    if taken_at is None:
        return []
    before = [(taken_at - at, code) for code, at in done]
    near = sorted((gap, code) for gap, code in before if -SLACK <= gap <= WORKED_WITHIN)
    return [Proposal(code, f"in hand {passed(gap)} before") for gap, code in near][:OF_WORK]


def by_sequence(
    code: str, *, gap: timedelta | None, follows: bool, beside: Sequence[str] = ()
) -> list[Proposal]:
    """Propose what stands beside what the picture before or after shows, then that itself.

    Args: ``gap`` in time, None where nobody knows; ``follows`` where the picture came after;
        ``beside`` what stands in the next hole in that direction.
    """
    if gap is not None and abs(gap) > SHOT_WITHIN:
        return []
    side, other = ("after", "before") if follows else ("before", "after")
    when = "" if gap is None else f" {passed(gap)}"
    return [
        *(Proposal(one, f"next {side} the piece taken{when} {other}") for one in beside),
        Proposal(code, f"taken{when} {side} a picture of it"),
    ]


def next_hole(
    holes: Iterable[tuple[Hole, str]], *, start: Hole, backwards: bool = False
) -> list[str]:
    """Return the code of what stands in the next filled hole, as one reads, or nothing."""
    ordered = sorted(holes, reverse=backwards)
    beyond = [code for hole, code in ordered if (hole < start if backwards else hole > start)]
    return beyond[:1]


def best(*groups: Iterable[Proposal]) -> list[Proposal]:
    """Return the first of all proposals, the surest group first, each thing once."""
    found: dict[str, Proposal] = {}
    for group in groups:
        for proposal in group:
            found.setdefault(proposal.code, proposal)
    return list(found.values())[:MOST]
