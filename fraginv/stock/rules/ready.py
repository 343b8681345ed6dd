"""When a frag has usually healed, is likely ready, and wants to be seen again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

# Days from cutting. Common practice, no source; a person grades, this only says where
# to look first.
HEAL_DAYS: Final = 14
READY_DAYS: Final[Mapping[str, int]] = {"SPS": 60, "LPS": 45, "gorgonian": 45, "clam": 365}
READY_DAYS_OF_OTHERS: Final = 30
SEE_DAYS: Final = 14
# After somebody said that a piece is not ready, it is proposed again so many days later.
LOOK_AGAIN_DAYS: Final = 14


@dataclass(frozen=True)
class Pace:
    """How fast frags of a variety heal and grow, in days; None is as its group does."""

    group: str
    heal_days: int | None = None
    ready_days: int | None = None
    see_days: int | None = None

    @property
    def heals_in(self) -> int:
        """Return the days in which a cut has usually healed."""
        return HEAL_DAYS if self.heal_days is None else self.heal_days

    @property
    def ready_in(self) -> int:
        """Return the least days from cutting until a frag is likely ready."""
        usual = READY_DAYS.get(self.group, READY_DAYS_OF_OTHERS)
        return usual if self.ready_days is None else self.ready_days

    @property
    def seen_every(self) -> int:
        """Return the days after which a frag wants to be seen again."""
        return SEE_DAYS if self.see_days is None else self.see_days


def heal_by(cut_on: date, *, pace: Pace) -> date:
    """Return the day by which a frag has usually healed."""
    return cut_on + timedelta(days=pace.heals_in)


def likely_on(cut_on: date, *, pace: Pace) -> date:
    """Return the day from which a frag is likely ready."""
    return cut_on + timedelta(days=pace.ready_in)
