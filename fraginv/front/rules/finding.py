"""What comes first among all that a typed text may mean."""

import re
from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Final

from fraginv.base.rules.words import words_of
from fraginv.taxa.rules import GROUP_NAMES

LEAST_OF_A_GROUP: Final = 2
LAST_CHARACTERS: Final = 3
NUMBER: Final = re.compile(r"(\d+)")


class Fit(StrEnum):
    """How a text fits a thing: its code, a mark of it, or its name, the closest first.

    ``NAMED`` is each word of the name, ``FIRST`` how its first word begins, ``WITHIN``
    how another word of it begins, ``BESIDE`` how a word of what it belongs to begins.
    """

    CODE = "code"
    END = "end"
    OLD = "old code"
    PAPER = "paper"
    NAMED = "named"
    FIRST = "first word"
    WITHIN = "another word"
    BESIDE = "what it belongs to"
    CODE_BEGINS = "code begins"
    OLD_BEGINS = "old code begins"


# The kinds of things that are found, and the word for each.
KINDS: Final[dict[str, str]] = {
    "frag": "frag",
    "colony": "colony",
    "rack": "rack",
    "label": "label",
    "paper": "sale",
    "trough": "trough",
    "system": "system",
    "variety": "variety",
    "genus": "genus",
    "group": "group",
    "customer": "customer",
}
PLACES: Final = ("rack", "trough", "system")

# The order in which answers stand: what can mean one thing alone before what may mean many.
ORDER: Final[tuple[tuple[Fit, tuple[str, ...]], ...]] = (
    (Fit.CODE, tuple(KINDS)),
    (Fit.END, tuple(KINDS)),
    (Fit.OLD, tuple(KINDS)),
    (Fit.PAPER, ("paper",)),
    (Fit.NAMED, PLACES),
    (Fit.NAMED, ("variety",)),
    (Fit.NAMED, ("customer",)),
    (Fit.NAMED, ("group",)),
    (Fit.NAMED, ("genus",)),
    (Fit.FIRST, ("variety",)),
    (Fit.FIRST, ("customer",)),
    (Fit.FIRST, ("genus", "group")),
    (Fit.FIRST, PLACES),
    (Fit.WITHIN, ("variety",)),
    (Fit.WITHIN, ("customer",)),
    (Fit.WITHIN, ("genus", "group")),
    (Fit.WITHIN, PLACES),
    (Fit.CODE_BEGINS, tuple(KINDS)),
    (Fit.OLD_BEGINS, tuple(KINDS)),
    (Fit.BESIDE, ("variety", "genus", "group")),
    (Fit.BESIDE, ("customer",)),
    (Fit.BESIDE, PLACES),
    (Fit.NAMED, ("colony",)),
    (Fit.FIRST, ("colony",)),
    (Fit.WITHIN, ("colony",)),
    (Fit.BESIDE, ("colony",)),
)
RANKS: Final = {(fit, kind): rank for rank, (fit, kinds) in enumerate(ORDER) for kind in kinds}


def rank_of(fit: Fit, *, kind: str) -> int:
    """Return the rank of a fit, 0 for the best.

    Raises: KeyError for a fit that this kind of thing cannot have.
    """
    return RANKS[fit, kind]


def fit_of_name(typed: str, *, name: str) -> Fit:
    """Return how a text that found a thing fits its name; ``BESIDE`` where it does not at all.

    The words may be typed in any order; accents and capitals do not count.
    """
    asked, words = words_of(typed), words_of(name)
    if not asked or not words or not all(begins(word, words) for word in asked):
        return Fit.BESIDE
    if sorted(asked) == sorted(words):
        return Fit.NAMED
    return Fit.FIRST if begins(asked[0], words[:1]) else Fit.WITHIN


def best_fit(fits: Iterable[Fit]) -> Fit:
    """Return the closest of the ways in which a text fits a thing's names."""
    closeness = list(Fit)
    return min(fits, key=closeness.index, default=Fit.BESIDE)


def fit_of_group(text: str, *, group: str) -> Fit | None:
    """Return how a text fits a group, by its short word, its plural or its name; None if not.

    One letter means no group.
    """
    typed = " ".join(words_of(text))
    if len(typed) < LEAST_OF_A_GROUP:
        return None
    names = [group, f"{group}s", GROUP_NAMES[group]]
    fit = best_fit(fit_of_name(text, name=name) for name in names)
    return None if fit is Fit.BESIDE else fit


def begins(typed: str, words: Sequence[str]) -> bool:
    """Tell whether one of the words begins as was typed."""
    return any(word.startswith(typed) for word in words)


def in_steps(title: str) -> tuple[tuple[int, str | int], ...]:
    """Return a title as it is sorted: rack 2 before rack 10, whatever the capitals."""
    parts = NUMBER.split(title.casefold())
    return tuple((0, int(part)) if NUMBER.fullmatch(part) else (1, part) for part in parts if part)


def best_of(ranked: Iterable[tuple[int, str, str]], *, most: int, most_of_kind: int) -> list[int]:
    """Return which answers are shown, by their places in what is given, the best first.

    Of one kind no more than ``most_of_kind`` are shown, unless nothing else is left.
    Args: ``ranked`` each answer's rank, kind and title.
    """
    given = list(ranked)
    order = sorted(range(len(given)), key=lambda at: (given[at][0], in_steps(given[at][2]), at))
    shown: list[int] = []
    further: list[int] = []
    count: dict[str, int] = {}
    for at in order:
        kind = given[at][1]
        count[kind] = count.get(kind, 0) + 1
        (shown if count[kind] <= most_of_kind else further).append(at)
    chosen = set([*shown, *further][:most])
    return [at for at in order if at in chosen]


def say_nothing(text: str, *, sees_customers: bool) -> str:
    """Say what to try where nothing was found for a text."""
    typed = "".join(each for each in text if each.isalnum())
    if len(typed) == LAST_CHARACTERS:
        words = (
            f"Nothing that is here now has a code that ends in {typed.upper()}. Of a code the last "
            "three characters are enough, as 9FN of 7K3-Q9F-N: not the first ones."
        )
    else:
        words = "Look at the spelling, or type the code on the label: its last three will do."
    return words if sees_customers else f"{words} Customers are found by sellers alone."


def count_words(count: int, *, more: bool) -> str:
    """Say how many answers there are, as a screen reader says it."""
    if count == 0:
        return "Nothing found so far. Press Enter to look further."
    many = "1 answer" if count == 1 else f"{count} answers"
    rest = ", and more on Enter" if more else ""
    return f"{many}{rest}. Arrows choose, Enter opens."
