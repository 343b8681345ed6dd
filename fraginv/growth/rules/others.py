"""Labels in a photo that name something else than what it is filed under."""

from collections.abc import Iterable, Mapping

from fraginv.base.rules.codes import show_code
from fraginv.growth.rules.intake import Named
from fraginv.growth.rules.problems import Problem
from fraginv.growth.rules.strays import in_words


def others_named(
    codes: Iterable[str], *, known: Mapping[str, Named], kind: str, pk: int
) -> list[Named]:
    """Return what labels name instead of the thing itself, each once; nothing where one names it.

    The label of a rack is no other thing's: what stands there is photographed with it.
    Args: ``known`` what carries each code; ``kind`` and ``pk`` of the thing itself.
    """
    named = {code: known.get(code, Named(code)) for code in codes}
    if any((one.kind, one.pk) == (kind, pk) for one in named.values()):
        return []
    return [one for one in named.values() if one.kind != "rack"]


def reads_others(others: Iterable[Named], *, code: str) -> str:
    """Say which labels a photo shows instead of that with a code."""
    codes = [one.code for one in others]
    if len(codes) == 1:
        return f"The label in it reads {in_words(codes)}, not {show_code(code)}."
    return f"The labels in it read {in_words(codes)}, not {show_code(code)}."


def other_label(others: Iterable[Named], *, code: str) -> Problem:
    """Say beside a measure that the photo may show another piece than that with a code."""
    said = reads_others(others, code=code)
    return Problem(
        "other-label",
        f"{said} Check that it shows this frag; where it does not, take the photo out from the"
        " frag's page by “It shows something else”.",
    )
