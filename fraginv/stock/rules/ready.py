"""When a frag has usually healed, is likely ready, and wants to be seen again."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from fraginv.base.errors import InputError
from fraginv.stock.rules.stages import SIZES

# Days from cutting. Common practice, no source; a person grades, this only says where
# to look first.
HEAL_DAYS: Final = 14
READY_DAYS: Final[Mapping[str, int]] = {"SPS": 60, "LPS": 45, "gorgonian": 45, "clam": 365}
READY_DAYS_OF_OTHERS: Final = 30
SEE_DAYS: Final = 14
# After somebody said that a piece is not ready, it is proposed again so many days later.
LOOK_AGAIN_DAYS: Final = 14
MOST_DAYS: Final = 3_650
MOST_HEADS: Final = 999
# Frags are sold no smaller and no larger across; what is larger is a colony.
LEAST_MM: Final = 5
MOST_MM: Final = 500
SMALLEST_FIRST: Final = tuple(SIZES)


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


@dataclass(frozen=True)
class Least:
    """The least size, heads or width at which frags of a variety are sold; empty is any.

    The width ``mm`` is the largest diameter; no grading by eye is below it.
    """

    size: str = ""
    heads: int | None = None
    mm: int | None = None

    def is_below(self, size: str, heads: int | None) -> bool:
        """Tell whether a grading is below it; heads that nobody counted are not."""
        small = bool(self.size) and SMALLEST_FIRST.index(size) < SMALLEST_FIRST.index(self.size)
        few = self.heads is not None and heads is not None and heads < self.heads
        return small or few

    @property
    def words(self) -> str:
        """Say it in a few words, or nothing where there is none."""
        told = [f"size {SIZES[self.size]}"] if self.size else []
        if self.heads is not None:
            told.append(f"{self.heads} head{'' if self.heads == 1 else 's'}")
        if self.mm is not None:
            told.append(f"{self.mm} mm across")
        return " or ".join(told)


def check_pace(days: Mapping[str, int | None], *, least: Least) -> None:
    """Refuse days, a size or heads that no rule can have.

    Args: ``days`` by what they are for.
    Raises: InputError.
    """
    for name, number in days.items():
        if number is not None and not 1 <= number <= MOST_DAYS:
            raise InputError(f"{name}: {number} days. Write a number from 1 to {MOST_DAYS:,}.")
    if least.size and least.size not in SIZES:
        raise InputError(f"{least.size!r} is no size. Choose one of {', '.join(SIZES)}.")
    if least.heads is not None and not 1 <= least.heads <= MOST_HEADS:
        raise InputError(f"{least.heads} heads: write a number from 1 to {MOST_HEADS}.")
    if least.mm is not None and not LEAST_MM <= least.mm <= MOST_MM:
        raise InputError(f"{least.mm} mm across: write a number from {LEAST_MM} to {MOST_MM}.")
