"""Links that let somebody in: how long they are good, and what is said of those that are not."""

import re
import unicodedata
from collections.abc import Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

INVITE, RESET = "invite", "reset"

# A first link is sent over distance and may lie for some days; a reset is asked for now.
LIVES: Mapping[str, timedelta] = MappingProxyType(
    {INVITE: timedelta(days=7), RESET: timedelta(hours=24)}
)
LONGEST_USERNAME = 40


class State(StrEnum):
    """What has become of a link."""

    OPEN = "open"
    USED = "used"
    ENDED = "ended"
    WITHDRAWN = "withdrawn"


ASK_ANEW = "Ask whoever sent it for a new one."

# Said to whoever holds a link, who may be a stranger: nothing of whom it was for.
CLOSED: Mapping[State, str] = MappingProxyType(
    {
        State.USED: "This link was used already. If it was you, sign in with the name and the "
        "password that you chose then. If it was not, tell whoever sent it, today.",
        State.ENDED: f"This link is too old. {ASK_ANEW}",
        State.WITHDRAWN: f"This link was withdrawn. {ASK_ANEW}",
    }
)
UNKNOWN = (
    "This link leads nowhere. Perhaps a part of it was lost on the way: open it whole, "
    "from the message that it came in, or ask for a new one."
)


def state_of(
    *,
    used_at: datetime | None,
    withdrawn_at: datetime | None,
    ends_at: datetime,
    now: datetime,
) -> State:
    """Tell what has become of a link."""
    if used_at is not None:
        return State.USED
    if withdrawn_at is not None:
        return State.WITHDRAWN
    return State.OPEN if now < ends_at else State.ENDED


def propose_username(name: str) -> str:
    """Propose a sign-in name: ``mira.holt`` for Mira Holt; empty where no letter can be written.

    Accents go, and whatever is neither a letter nor a figure becomes a dot.
    """
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", ".", plain)[:LONGEST_USERNAME].strip(".")
