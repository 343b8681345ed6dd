"""What a scan does, when it happened, and whether it still fits when it arrives."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any, Final

from fraginv.base.errors import Conflict, InputError
from fraginv.base.rules.roles import Right
from fraginv.stock.rules.happenings import Kind


class Act(StrEnum):
    """What is done with what was scanned; the last three take a scan back."""

    LOOK = "look"
    SEEN = "seen"
    MOVE = "move"
    READY = "ready"
    LOSE = "lose"
    LABEL = "label"
    UNREADY = "unready"
    UNLOSE = "unlose"
    UNLABEL = "unlabel"


@dataclass(frozen=True)
class Offered:
    """How an act is offered; ``asks`` names what is chosen before, ``right`` who may."""

    act: Act
    label: str
    icon: str
    button: str
    right: Right
    asks: str = ""
    danger: bool = False


OFFERED: Final = (
    Offered(Act.LOOK, "Look", "search", "Look it up", Right.SEE_STOCK),
    Offered(Act.SEEN, "Seen, fine", "eye", "Seen, fine", Right.GRADE),
    Offered(Act.MOVE, "Move here", "map-pin", "Move it here", Right.PLACE, asks="rack"),
    Offered(Act.READY, "Ready", "circle-check", "Grade it ready", Right.GRADE, asks="size"),
    Offered(Act.LOSE, "Loss", "circle-x", "Write it off", Right.RECORD_LOSS, "cause", danger=True),
    Offered(Act.LABEL, "Label lost", "tag", "Note its label lost", Right.PRINT_LABELS),
)

KEPT: Final = timedelta(days=7)
# A phone's clock is set by the page, whose own moment took some seconds to arrive.
AHEAD: Final = timedelta(minutes=2)
SHOWN_AT_MOST: Final = 40
END_LENGTH: Final = 3


class TooOld(Conflict):
    """A scan waited longer than scans may."""

    code = "too_old"


class Overtaken(Conflict):
    """Something happened to a frag after it was scanned and before the scan arrived."""

    code = "overtaken"


class OtherPerson(Conflict):
    """A scan belongs to somebody else than who is signed in."""

    code = "other_person"


def moment_of(text: str, *, now: datetime) -> datetime:
    """Return when a scan happened; one without a moment happened now.

    Raises: InputError for what is no moment, or is still to come; TooOld for one of
        more than 7 days ago.
    """
    if not text:
        return now
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f"{text[:SHOWN_AT_MOST]} is no moment. Scan it again.") from error
    if moment.utcoffset() is None:
        raise InputError(f"{text[:SHOWN_AT_MOST]} has no time zone. Scan it again.")
    if moment > now + AHEAD:
        raise InputError(
            "By the phone's clock this scan is still to come. Set the clock, open this page "
            "again, and scan it again."
        )
    if moment < now - KEPT:
        raise TooOld(
            f"This scan waited more than {KEPT.days} days, so it may no longer be true. "
            "Look at the piece, then do it now or drop it."
        )
    return min(moment, now)


@dataclass(frozen=True)
class Later:
    """One thing that happened to a frag after it was scanned.

    ``day_after`` says that it was on a later day than the scan.
    """

    kind: str
    at: datetime
    by: str
    body: Mapping[str, Any]
    day_after: bool = False


# What the figures of a month are made of.
COUNTED: Final = frozenset({Act.READY, Act.LOSE})
# Other pieces stand under the code, or fewer of the same.
OTHERS: Final = frozenset(
    {Kind.SPLIT, Kind.JOINED, Kind.SOLD, Kind.RETURNED, Kind.FOUND, Kind.GIVEN, Kind.KEPT}
)
# What an older scan that arrives late would turn back. After a loss was scanned, whatever
# was done to the piece says that it lived.
OVERTAKES: Final[Mapping[Act, frozenset[Kind]]] = {
    Act.SEEN: frozenset({Kind.INSPECTED, Kind.SET_APART, Kind.QUARANTINED}),
    Act.MOVE: frozenset({Kind.PLACED, Kind.QUARANTINED, Kind.RELEASED, Kind.FOUND}),
    Act.READY: frozenset({Kind.GRADED, Kind.INSPECTED, Kind.RETURNED}),
    Act.LOSE: frozenset(Kind) - {Kind.LOST, Kind.LET_GO, Kind.UNDONE, Kind.KEPT_BACK},
    Act.UNREADY: OTHERS | {Kind.GRADED, Kind.INSPECTED, Kind.HELD},
    Act.UNLOSE: OTHERS | {Kind.UNDONE},
}
# A later look counts only where it said something of the same: what is wrong, or the stage.
SAID_BY_A_LOOK: Final = {Act.SEEN: "wrong", Act.READY: "stage", Act.UNREADY: "stage"}


def overtakes(act: Act, one: Later) -> bool:
    """Tell whether a scan no longer fits after something that happened later."""
    if one.kind == Kind.INSPECTED and act in SAID_BY_A_LOOK:
        return bool(one.body.get(SAID_BY_A_LOOK[act]))
    return one.kind in OVERTAKES.get(act, frozenset())


def overtaken_by(act: Act, later: Iterable[Later], *, is_lot: bool) -> Later | None:
    """Return the last thing that overtakes a scan, or None where it still fits.

    Pieces of a lot go on living beside those that were lost; but none, of a lot or not, was
    lost on a day before another on which something is known of it.
    """
    if act is Act.LOSE:
        found = [one for one in later if one.day_after or (not is_lot and overtakes(act, one))]
    else:
        found = [one for one in later if overtakes(act, one)]
    return found[-1] if found else None


def say_late(act: Act, *, scanned_in: str, counts_in: str, done: bool) -> str:
    """Say in which month a scan counts that was made in an earlier one, or nothing.

    The day on which it was scanned is that of its event; settled by hand it counts today.
    Args: the months in words.
    """
    if act not in COUNTED or scanned_in == counts_in:
        return ""
    if done:
        return f" It counts in {scanned_in}, when it was scanned."
    return f" It was scanned in {scanned_in}; done now, it counts in {counts_in}."


def is_end(text: str) -> bool:
    """Tell whether what was typed is the last three characters of a code."""
    typed = text.strip()
    return len(typed) == END_LENGTH and typed.isascii() and typed.isalnum()
