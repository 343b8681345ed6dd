"""Where colonies come from, on what papers, what may bar them, and how they leave."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from fraginv.base.errors import InputError
from fraginv.base.rules.money import LARGEST
from fraginv.stock.rules.cutting import MOST_PIECES


class Origin(StrEnum):
    """How a coral came to be here."""

    CUT_HERE = "cut here"
    BOUGHT = "bought"
    TRADED = "traded"
    DONATED = "donated"
    SEIZED = "seized"
    ON_LOAN = "on loan"
    BROKEN_OFF = "broken off"


ORIGINS: Final[dict[str, str]] = {
    Origin.CUT_HERE: "Cut here",
    Origin.BOUGHT: "Bought",
    Origin.TRADED: "Traded",
    Origin.DONATED: "Donated",
    Origin.SEIZED: "Seized, placed here by an authority",
    Origin.ON_LOAN: "On loan",
    Origin.BROKEN_OFF: "Broken off in the display, mother unknown",
}


class State(StrEnum):
    """What became of a colony; only a living one is cut."""

    LIVING = "living"
    DEAD = "dead"
    SOLD = "sold"
    GIVEN = "given"
    DISPLAYED = "displayed"


class ColonyKind(StrEnum):
    """The kinds of events of a colony."""

    CAME_IN = "came in"
    KEPT = "kept"
    CHANGED = "changed"
    MOVED = "moved"
    PAPER = "paper"
    BARRED = "barred"
    LIFTED = "lifted"
    DIED = "died"
    SOLD_WHOLE = "sold whole"
    GIVEN = "given"
    DISPLAYED = "displayed"
    BACK = "back"


class BarKind(StrEnum):
    """Why a colony may be neither cut nor sold nor given."""

    AUTHORITY = "authority"
    LOAN = "loan"
    RESEARCH = "research"
    PERMIT = "permit"


BAR_KINDS: Final[dict[str, str]] = {
    BarKind.AUTHORITY: "Held for an authority",
    BarKind.LOAN: "On loan",
    BarKind.RESEARCH: "For research",
    BarKind.PERMIT: "Bound by a permit",
}

# Source: CITES Res. Conf. 12.3 (as revised) and 50 CFR 23.24; the words for R, W, U and I from
# memory. Code A is for plants and left out.
SOURCE_CODES: Final[dict[str, str]] = {
    "W": "W: taken from the wild",
    "R": "R: ranched, reared from early life stages",
    "C": "C: bred in captivity, to the full definition",
    "F": "F: born or grown in captivity, short of C",
    "D": "D: Appendix I, bred at a registered operation",
    "I": "I: seized or confiscated",
    "U": "U: unknown, to be explained",
    "O": "O: from before the convention, with another code",
}

MOST_REST: Final = 730
WHOLE_SHARE: Final = 10_000  # hundredths of a percent
LONGEST_WORDS: Final = 200
LONGEST_PAPER: Final = 80

# How a colony leaves, and the words for what was done.
LEFT: Final[dict[str, ColonyKind]] = {
    State.DEAD: ColonyKind.DIED,
    State.GIVEN: ColonyKind.GIVEN,
    State.DISPLAYED: ColonyKind.DISPLAYED,
    State.SOLD: ColonyKind.SOLD_WHOLE,
}

STATES: Final[dict[str, str]] = {
    State.LIVING: "Living",
    State.DEAD: "Dead",
    State.SOLD: "Sold whole",
    State.GIVEN: "Given",
    State.DISPLAYED: "In the display",
}

# No legal statement: what is written on a permit is for the authority that gives it.
SOURCE_HELP: Final = (
    "What the permit or the supplier says. It is kept as a note and is no legal statement."
)

# What belongs to others, or is held for an authority, is barred until the owner role says
# otherwise: pieces are kept back, colonies have a bar.
BAR_OF_ORIGIN: Final[dict[str, tuple[BarKind, str]]] = {
    Origin.SEIZED: (BarKind.AUTHORITY, "Seized, held for an authority"),
    Origin.ON_LOAN: (BarKind.LOAN, "On loan"),
}
NOT_OURS: Final = frozenset(BAR_OF_ORIGIN)

# How pieces may come in from elsewhere; what broke off in the display has lived in its water.
ARRIVING: Final[dict[str, str]] = {
    origin: words for origin, words in ORIGINS.items() if origin != Origin.CUT_HERE
}


def is_bound(origin: str, *, has_terms: bool) -> bool:
    """Tell whether a colony of an origin is barred from the first.

    What is on loan on written terms may be cut by those; what was seized may not.
    """
    return origin == Origin.SEIZED or (origin == Origin.ON_LOAN and not has_terms)


def check_rest_days(days: int) -> None:
    """Refuse days of rest that cannot be.

    Raises: InputError.
    """
    if not 0 <= days <= MOST_REST:
        raise InputError(f"{days} days of rest: write a number from 0 to {MOST_REST}.")


def check_origin(origin: str) -> None:
    """Refuse an origin that is none.

    Raises: InputError.
    """
    if origin not in ORIGINS:
        raise InputError(f"{origin!r} is no origin. Use one of {', '.join(ORIGINS)}.")


def check_source_code(code: str) -> None:
    """Refuse what is no source code; nothing is one that is not known.

    Raises: InputError.
    """
    if code and code not in SOURCE_CODES:
        raise InputError(
            f"{code!r} is no source code. Use one of {', '.join(SOURCE_CODES)}, or leave it empty."
        )


def check_most_pieces(most: int | None) -> None:
    """Refuse a limit for one cutting that no cutting could reach, or that forbids all.

    Raises: InputError.
    """
    if most is not None and not 1 <= most <= MOST_PIECES:
        raise InputError(
            f"At most {most:,} pieces per cutting: write a number from 1 to {MOST_PIECES}, "
            "or leave it empty."
        )


def check_terms(owned: bool, *, share: int | None, least: int | None) -> None:
    """Refuse terms without an owner, and a share or a price that cannot be.

    Args: ``share`` of what its frags bring, in hundredths of a percent; ``least`` price of
        a piece in minor units.
    Raises: InputError.
    """
    if not owned and (share is not None or least is not None):
        raise InputError("A share and a least price are an owner's. Say who owns the colony.")
    if share is not None and not 0 <= share <= WHOLE_SHARE:
        raise InputError("The owner's share must lie between 0 and 100 percent.")
    if least is not None and not 1 <= least <= LARGEST:
        raise InputError("The least price must be more than nothing, or be left empty.")


def read_words(text: str, *, longest: int = LONGEST_WORDS, what: str) -> str:
    """Return words with single spaces.

    Raises: InputError for more than are kept.
    """
    words = " ".join(text.split())
    if len(words) > longest:
        raise InputError(
            f"The {what} has {len(words)} characters; at most {longest} are kept. Shorten it."
        )
    return words


def effective_bars(
    mothers: Mapping[int, int | None], *, own: Mapping[int, str], above: str
) -> dict[int, str]:
    """Return for each colony of a line why it is barred, or nothing.

    Its own bar says so, else that of the nearest colony it descends from.
    Args: ``mothers`` of the colonies, mothers first; ``own`` reasons of those that have a
        bar themselves; ``above`` is why the colony is barred that the first one comes from.
    """
    found: dict[int, str] = {}
    for colony, mother in mothers.items():
        found[colony] = own.get(colony) or found.get(mother or 0, above)
    return found
