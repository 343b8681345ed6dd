"""What a list of frags may be narrowed to, and in which words that is said."""

from dataclasses import dataclass, fields
from datetime import date, timedelta
from typing import Final

from fraginv.stock.rules.stages import ENDED, SIZES, TROUBLES

FOR_SALE: Final = "sale"
YES: Final = "yes"
NO: Final = "no"
ANY_TROUBLE: Final = "any"
OLDEST_DAYS: Final = 36_500

# What can be asked of the stage, and its word.
STAGES: Final[dict[str, str]] = {
    "": "living",
    FOR_SALE: "for sale",
    "healing": "healing",
    "growing": "growing",
    "ready": "ready",
    "sold": "sold",
    "lost": "lost",
    "given": "given",
    "kept": "kept as colony",
    "joined": "joined",
}
# What is said of a frag that is asked for with yes, and with no.
FLAGS: Final[dict[str, tuple[str, str]]] = {
    "held": ("put aside for somebody", "put aside for nobody"),
    "apart": ("set apart", "not set apart"),
    "quarantined": ("quarantined", "not quarantined"),
    "kept": ("kept back", "not kept back"),
}


@dataclass(frozen=True)
class FragFilter:
    """What a list of frags is narrowed to; what is left empty narrows nothing.

    ``rack`` and ``colony`` are codes, the other things ids; the ages are in whole days
    since the cutting, both included; the flags are yes, no or empty.
    """

    stage: str = ""
    text: str = ""
    size: str = ""
    variety: int | None = None
    genus: int | None = None
    group: str = ""
    system: int | None = None
    trough: int | None = None
    rack: str = ""
    colony: str = ""
    held: str = ""
    apart: str = ""
    quarantined: str = ""
    kept: str = ""
    wrong: str = ""
    age_from: int | None = None
    age_to: int | None = None

    @property
    def is_plain(self) -> bool:
        """Tell whether the stage alone is asked for."""
        return not any(
            getattr(self, field.name) for field in fields(self) if field.name != "stage"
        ) and (self.age_from, self.age_to) == (None, None)

    @property
    def has_age(self) -> bool:
        """Tell whether an age is asked for; then the list is in the order of the cuttings."""
        return (self.age_from, self.age_to) != (None, None)

    @property
    def has_ended(self) -> bool:
        """Tell whether what has left the troughs is asked for."""
        return self.stage in ENDED


@dataclass(frozen=True)
class Days:
    """Between which days a frag was cut, both included; None where it does not matter."""

    first: date | None = None
    last: date | None = None


def days_of_age(asked: FragFilter, *, today: date) -> Days:
    """Return between which days a frag was cut that has an age today."""
    oldest, youngest = asked.age_to, asked.age_from
    return Days(
        first=None if oldest is None else today - timedelta(days=oldest),
        last=None if youngest is None else today - timedelta(days=youngest),
    )


def age_words(asked: FragFilter) -> str:
    """Say which ages are asked for, nothing where none is."""
    first, last = asked.age_from, asked.age_to
    if first is None and last is None:
        return ""
    if first == last:
        return f"cut {days(first or 0)} ago"
    if last is None:
        return f"cut at least {days(first or 0)} ago"
    if first is None:
        return f"cut at most {days(last)} ago"
    return f"cut {first} to {days(last)} ago"


def days(count: int) -> str:
    """Count days in words."""
    return "1 day" if count == 1 else f"{count} days"


def flag_words(name: str, value: str) -> str:
    """Say what is asked of a flag."""
    yes, no = FLAGS[name]
    return yes if value == YES else no


def trouble_words(value: str) -> str:
    """Say which trouble is asked for."""
    if value == NO:
        return "nothing wrong"
    return "something wrong" if value == ANY_TROUBLE else TROUBLES[value]


def size_words(value: str) -> str:
    """Say which size is asked for."""
    return f"size {SIZES[value]}"
