"""Why a picture that came in was not filed by itself, or not wholly: in plain words."""

from collections.abc import Iterable, Sequence
from typing import Final

from fraginv.base.rules.codes import show_code
from fraginv.growth.rules.problems import Problem

NAMED_AT_MOST: Final = 6

NO_LABEL: Final = Problem(
    "no-label",
    "No label can be read in it. Choose what it shows, or take it again closer, with the label"
    " wiped, sharp and whole in the picture.",
)
FOREIGN: Final = Problem(
    "foreign-code",
    "It shows a code of another system and no label of ours. Choose what it shows.",
)
GONE: Final = Problem(
    "bytes-gone",
    "The picture was no longer there when its turn came. Send it again.",
)
PRIVATE: Final = Problem(
    "kept-private",
    "This very picture is kept as a private paper and cannot be a photo as well. Take another one.",
)
TAKEN_OUT: Final = "taken-out"
UNREADABLE: Final = "not-a-picture"
AGAIN: Final = "The same picture was filed before."
TWICE: Final = "Sent twice"
IN_TRAY: Final = "The same picture lies in the tray already."


def taken_out(what: str) -> Problem:
    """Say where a picture was filed by mistake."""
    return Problem(TAKEN_OUT, f"It was filed under {what} by mistake. Choose what it shows.")


def sent_twice(name: str) -> str:
    """Say that a picture came in again, and under which other name; it is kept once."""
    return f"{TWICE}, also as {name}; kept once." if name else f"{TWICE}; kept once."


def in_words(codes: Sequence[str]) -> str:
    """Name some codes as people read them, and how many more there are."""
    shown = [show_code(code) for code in codes[:NAMED_AT_MOST]]
    more = len(codes) - len(shown)
    if more:
        return f"{', '.join(shown)} and {more} more"
    return " and ".join(filter(None, [", ".join(shown[:-1]), shown[-1]])) if shown else ""


def verb(codes: Sequence[str], one: str, many: str) -> str:
    """Return a verb as it follows one code or many."""
    return one if len(codes) == 1 else many


def not_ours(named: Sequence[tuple[str, str]]) -> Problem:
    """Say that nothing in the house carries the codes that were read.

    Args: each code with what it was made for; nothing where it is unknown here.
    """
    (code, kind), count = named[0], len(named)
    if count > 1:
        words = in_words([one for one, _ in named])
        return Problem("unknown-code", f"{words} belong to nothing here. Choose what it shows.")
    if kind == "blank":
        text = f"{show_code(code)} was printed ahead and is not in use yet. Choose what it shows."
        return Problem("blank-label", text)
    if kind:
        text = f"{show_code(code)} is neither a frag nor a colony. Choose what it shows."
        return Problem("not-a-frag", text)
    return Problem(
        "unknown-code",
        f"{show_code(code)} is a well-formed code, but none of ours. Choose what it shows.",
    )


def beside(code: str, others: Sequence[str]) -> Problem:
    """Say that one thing is known and another label beside it is not."""
    return Problem(
        "two-labels",
        f"It shows the label of {show_code(code)} and also {in_words(others)}, which"
        f" {verb(others, 'belongs', 'belong')} to nothing here. Choose which piece it shows.",
    )


def twice(code: str) -> Problem:
    """Say that one code stands at two places."""
    return Problem(
        "code-twice",
        f"{show_code(code)} stands on two labels in it, so one of the pieces carries a wrong one."
        " Look which it is, print the other's label anew, and choose what it shows.",
    )


def several(codes: Sequence[str]) -> Problem:
    """Say that several things are named and no rack is."""
    return Problem(
        "several-labels",
        f"It shows the labels of {in_words(codes)}, which do not stand in one rack. Choose the"
        " piece or the rack that it shows.",
    )


def two_racks(codes: Sequence[str]) -> Problem:
    """Say that the labels of more than one rack are in the picture."""
    return Problem("two-racks", f"It shows the labels of two racks: {in_words(codes)}. Choose one.")


def colony_among(codes: Sequence[str]) -> Problem:
    """Say that a colony is shown with others."""
    return Problem(
        "colony-among",
        f"It shows the labels of {in_words(codes)}, a colony among them. Choose what it shows.",
    )


def elsewhere(codes: Sequence[str]) -> Iterable[str]:
    """Say which frags stand in another rack by what is written down."""
    if codes:
        stands = verb(codes, "stands", "stand")
        yield f"By what is written down, {in_words(codes)} {stands} elsewhere."


def not_cut(codes: Sequence[str]) -> Iterable[str]:
    """Say which frags have no part of their own because their code stands there twice."""
    if codes:
        stands = verb(codes, "stands", "stand")
        yield f"{in_words(codes)} {stands} on two labels, so nothing was cut out there."


def ignored(codes: Sequence[str]) -> Iterable[str]:
    """Say which labels belong to nothing here."""
    if codes:
        yield f"{in_words(codes)} {verb(codes, 'belongs', 'belong')} to nothing here."


def beside_unread(code: str) -> Problem:
    """Say that a second label is there which cannot be read."""
    return Problem(
        "unread-label",
        f"It shows the label of {show_code(code)} and another one that cannot be read, so it may"
        " show two pieces. Choose which it shows, or take them one by one.",
    )


def unread(count: int) -> Iterable[str]:
    """Say how many labels in a rack's photo could not be read."""
    if count:
        yield f"{count} more label{'' if count == 1 else 's'} could not be read."
