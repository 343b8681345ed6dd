"""Words of names, folded so that they are found however they are typed."""

import re
import unicodedata
from collections.abc import Iterable
from typing import Final

LONGEST: Final = 60
WORD: Final = re.compile(r"[^\W_]+")
# The last character of all: no word goes on with it.
BEYOND: Final = "\U0010ffff"


def words_of(*texts: str) -> list[str]:
    """Return the words of texts without case and accents, each once, in their order.

    Source: Unicode Standard, section 3.13 (caseless matching), and Annex 15, form NFKD,
    of which the marks that combine are left out.
    """
    folded = unicodedata.normalize("NFKD", " ".join(texts)).casefold()
    plain = "".join(each for each in folded if not unicodedata.combining(each))
    return list(dict.fromkeys(word[:LONGEST] for word in WORD.findall(plain)))


def most_telling(words: Iterable[str]) -> list[str]:
    """Return words with those first that leave the fewest things.

    A number tells one rack from the others, their word does not; else the longer word
    tells more.
    """
    return sorted(words, key=lambda word: (not word[0].isdigit(), -len(word)))
