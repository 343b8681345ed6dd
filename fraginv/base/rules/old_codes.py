"""Old codes: what stood on plugs and tags before a thing had its code."""

import unicodedata
from typing import Final

LONGEST: Final = 40


def fold_old_code(text: str) -> str:
    """Return an old code as it is compared: capitals, without blanks and separators.

    Letters and digits alone are left, and wide or raised ones as plain ones, so that
    ``a-17 b`` is found as ``A17B``. A mark of nothing but signs folds to nothing.
    Source: Unicode Standard, Annex 15, form NFKC.
    """
    plain = unicodedata.normalize("NFKC", text).upper()
    return "".join(each for each in plain if each.isalnum())[:LONGEST]
