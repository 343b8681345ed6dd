"""How long a visit lasts before somebody must sign in again."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from fraginv.base.rules.roles import Role


@dataclass(frozen=True)
class Length:
    """How long a visit may rest untouched, and how long it may last at all."""

    idle: timedelta
    whole: timedelta


# One shift in the plant room: typing a password with wet hands twice a day is
# what makes people write it on the wall. They change and enter what can be seen
# and corrected, and what they do stands in their name.
CREW = Length(idle=timedelta(hours=12), whole=timedelta(days=7))
# Money, people and the books: a working day at most, the 12 hours of NIST SP 800-63B
# (2017), section 4.2.3, for its second level. Its 30 minutes untouched are two hours
# here: a round through the troughs takes longer, and hands are wet.
CAREFUL = Length(idle=timedelta(hours=2), whole=timedelta(hours=12))
# A PIN is a weaker key, so it opens for one shift.
BY_PIN = Length(idle=timedelta(hours=4), whole=timedelta(hours=12))
CAREFUL_ROLES = frozenset({Role.MANAGER, Role.OWNER, Role.READER})


def length_of(role: str, *, by_pin: bool) -> Length:
    """Return how long a visit of somebody in a role may last."""
    if role in CAREFUL_ROLES:
        return CAREFUL
    return BY_PIN if by_pin else CREW


def has_ended(length: Length, *, started: datetime, seen: datetime, at: datetime) -> bool:
    """Tell whether a visit has rested or lasted too long.

    A clock that was put back ends no visit.
    """
    return at - seen > length.idle or at - started > length.whole
