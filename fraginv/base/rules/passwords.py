"""Which passwords are too easy to guess."""

import re
from collections.abc import Container, Iterable

LEAST = 12
ADVISED = 15
MOST = 200
LEAST_DIFFERENT = 5
LEAST_BESIDE_NAMES = 8
SHORTEST_NAME = 3

# Words that anybody would try here, whatever the organisation is called.
CONTEXT_WORDS = (
    "fraginv",
    "aquarium",
    "colony",
    "coral",
    "frag",
    "grower",
    "manager",
    "owner",
    "password",
    "reader",
    "reef",
    "seawater",
    "seller",
    "welcome",
)
ROWS = ("01234567890", "abcdefghijklmnopqrstuvwxyz", "qwertyuiop", "asdfghjkl", "zxcvbnm")
STEPS = {pair for row in ROWS for pair in zip(row, row[1:], strict=False)}
STEPS |= {(after, before) for before, after in STEPS}
MOST_STEPS = 0.6
LETTERS = re.compile(r"[^\W\d_]+")
ADVICE = "Three or four words that do not belong together make a good one."


def why_weak(password: str, *, common: Container[str], names: Iterable[str]) -> str:
    """Say why a password will not do, or return an empty text.

    No mix of characters is asked for, and a word of the place may stand in a long
    password; it must not be most of it.

    Args: ``common`` holds passwords in small letters that attackers try first;
        ``names`` are the names of the organisation and of the person.
    Source: OWASP ASVS 5.0, 6.2.1 (at least 8 characters, 15 advised), 6.2.4
        (common ones), 6.2.5 (no composition rules), 6.2.9 (64 characters and
        more), 6.1.2 and 6.2.11 (words of the place).
    """
    folded = password.casefold()
    if len(password) < LEAST:
        return f"This password is too short. It needs at least {LEAST} characters. {ADVICE}"
    if len(password) > MOST:
        return f"This password is too long. {MOST} characters are enough."
    if is_monotonous(folded):
        return f"This password repeats itself, or follows the keys in a row. {ADVICE}"
    if is_common(folded, common=common):
        return f"This password is too common: it is among the first to be tried. {ADVICE}"
    if is_mostly_names(folded, names=names):
        return f"This password is little more than a name or a word of this place. {ADVICE}"
    return ""


def is_monotonous(folded: str) -> bool:
    """Tell whether a text repeats itself, or runs along the alphabet or the keyboard."""
    if len(set(folded)) < LEAST_DIFFERENT:
        return True
    if folded in (folded + folded)[1:-1]:
        return True
    pairs = list(zip(folded, folded[1:], strict=False))
    return sum(pair in STEPS for pair in pairs) > MOST_STEPS * len(pairs)


def is_common(folded: str, *, common: Container[str]) -> bool:
    """Tell whether a text, or the only word in it, is a common password."""
    words = LETTERS.findall(folded)
    return folded in common or (len(words) == 1 and words[0] in common)


def is_mostly_names(folded: str, *, names: Iterable[str]) -> bool:
    """Tell whether little is left of a text without names and the words of the place."""
    known = {*CONTEXT_WORDS, *(word for name in names for word in words_of(name))}
    rest = folded
    for word in sorted(known, key=len, reverse=True):
        rest = rest.replace(word, "")
    return rest != folded and sum(one.isalnum() for one in rest) < LEAST_BESIDE_NAMES


def words_of(name: str) -> list[str]:
    """Return the words of a name in small letters, without the shortest."""
    return [word for word in LETTERS.findall(name.casefold()) if len(word) >= SHORTEST_NAME]
