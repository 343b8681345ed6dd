"""Finding by code, by the last characters of one, by an old code, a name, a place, a paper."""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Final

from fraginv.base.errors import NotFound
from fraginv.base.models import Person
from fraginv.base.queries.codes import get_code
from fraginv.base.rules.codes import CodeError, address_path, read_code
from fraginv.front.queries.answers import SHOWN, Answer, answers_to
from fraginv.front.rules.finding import Fit, best_of

TYPED_SHOWN: Final = 8
OF_ONE_KIND: Final = 4


@dataclass(frozen=True)
class Found:
    """What a text leads to, the best first; ``path`` where it is one thing alone.

    ``more`` is whether there is more than is shown.
    """

    path: str = ""
    wrong_code: str = ""
    answers: Sequence[Answer] = field(default_factory=list)
    more: bool = False

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing was found."""
        return not (self.path or self.answers)


def find(text: str, *, reader: Person) -> Found:
    """Return what a text means: a code in any form or its end, an old one, a paper, or a name.

    A name may look like a code by chance, so names are tried before a code is
    called wrong or unknown.
    Raises: NotFound for a code that is well formed, not ours, and nothing else either.
    Queries: 1 for a whole code, else those of ``answers_to`` and 1.
    """
    wrong = ""
    unknown: NotFound | None = None
    try:
        return Found(path=address_path(get_code(read_code(text)).code))
    except NotFound as error:
        unknown = error
    except CodeError as error:
        wrong = error.message if error.data["reason"] == "check" else ""
    found = answers_to(text, reader=reader)
    if not found:
        if unknown is not None:
            raise unknown
        return Found(wrong_code=wrong)
    alone = one_alone(found)
    if alone is not None:
        return Found(path=alone.url)
    return chosen(found, most=SHOWN, of_one_kind=SHOWN)


def find_while_typing(text: str, *, reader: Person) -> Found:
    """Return the few best answers to what was typed so far.

    Queries: those of ``answers_to``.
    """
    found = answers_to(text, reader=reader)
    with suppress(CodeError):
        read_code(text)
        found = [one for one in found if one.fit is Fit.CODE] or found
    return chosen(found, most=TYPED_SHOWN, of_one_kind=OF_ONE_KIND)


def one_alone(found: Sequence[Answer]) -> Answer | None:
    """Return the one thing that was meant, if it is one; a variety brings its colonies along."""
    marked = [one for one in found if one.fit in {Fit.PAPER, Fit.OLD, Fit.END}]
    if len(marked) == 1 and marked[0].fit is not Fit.END:
        return marked[0]
    varieties = sum(one.kind == "variety" for one in found)
    things = [one for one in found if one.kind != "colony" or not varieties]
    return things[0] if len(things) == 1 else None


def chosen(found: Sequence[Answer], *, most: int, of_one_kind: int) -> Found:
    """Return the best of all answers, no kind crowding out the others."""
    ranked = [(one.rank, one.kind, one.title) for one in found]
    shown = best_of(ranked, most=most, most_of_kind=of_one_kind)
    return Found(answers=[found[at] for at in shown], more=len(found) > len(shown))
