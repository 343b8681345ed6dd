"""When a picture was taken, and whether its own word for it is to be believed."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from fraginv.base.rules.optics import Optics
from fraginv.growth.rules.problems import Problem

# A camera whose clock was never set begins here or earlier: 1970, 1980, 2000. Common
# practice, no source.
EARLIEST: Final = datetime(2001, 1, 1, tzinfo=UTC)
# Phones' clocks differ by seconds; nobody need hear of it.
AHEAD: Final = timedelta(minutes=15)

DAY_TOO_EARLY: Final = Problem(
    "day-too-early",
    "By its own clock the picture is from before 2001: the camera's clock was not set. It is"
    " filed with the moment at which it came in. Set the camera's day and time.",
)
DAY_TO_COME: Final = Problem(
    "day-to-come",
    "By its own clock the picture is still to come, so that clock is wrong. It is filed with"
    " the moment at which it came in. Set the camera's day, time and time zone.",
)

NO_CAMERA: Final = Problem(
    "no-camera",
    "It names no camera, as a screenshot or a picture sent by a messenger does. It is filed, but"
    " it cannot be measured as well as the photo itself.",
)


@dataclass(frozen=True)
class Taken:
    """When a picture counts as taken; ``known`` is whether it said so by itself."""

    at: datetime
    known: bool
    problem: Problem | None = None


def taken(said: datetime | None, *, now: datetime) -> Taken:
    """Return when a picture was taken: what it says, or now where it says nothing sensible."""
    if said is None:
        return Taken(now, known=False)
    if said < EARLIEST:
        return Taken(now, known=False, problem=DAY_TOO_EARLY)
    if said > now + AHEAD:
        return Taken(now, known=False, problem=DAY_TO_COME)
    return Taken(min(said, now), known=True)


def doubts_of(said: datetime | None, *, optics: str, now: datetime) -> list[Problem]:
    """Return what a person should hear of a picture that is filed: its day, and its lens.

    Args: ``optics`` as ``fraginv.base.rules.optics`` names them.
    """
    problem = taken(said, now=now).problem
    found = [] if problem is None else [problem]
    return [*found, *([NO_CAMERA] if optics == Optics.NONE.value else [])]
