"""Finding things by how the words of their names begin."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from django.db import connection
from django.db.models import Exists, OuterRef, Q, QuerySet

from fraginv.base.models import Word
from fraginv.base.rules.differences import Difference
from fraginv.base.rules.words import BEYOND, most_telling, words_of

FIRST: Final = 100


def things_named(text: str, *, kind: str) -> QuerySet[Word, int]:
    """Return the ids of things that have, for each word typed, a word that begins with it.

    The most telling word leads, because it leaves the fewest.
    Queries: none until it is read, then 1.
    """
    typed = most_telling(words_of(text))
    if not typed:
        return Word.objects.none().values_list("thing", flat=True)
    rows = Word.objects.filter(begins(typed[0]), kind=kind)
    for word in typed[1:]:
        also = Word.objects.filter(begins(word), kind=kind, thing=OuterRef("thing"))
        rows = rows.filter(Exists(also))
    return rows.order_by("word", "thing").values_list("thing", flat=True)


def first_named(text: str, *, kind: str) -> list[int]:
    """Return the ids of the first hundred things so named, to be looked up one by one.

    Queries: 1.
    """
    return list(things_named(text, kind=kind)[:FIRST])


def first_named_of(text: str, *, kinds: Sequence[str]) -> dict[str, list[int]]:
    """Return the ids of the first hundred things of each kind that are so named.

    Django has no union of questions that are each cut off, so their words are put together.
    Queries: 1, or none where no word was typed.
    """
    found: dict[str, list[int]] = {kind: [] for kind in kinds}
    if not words_of(text):
        return found
    parts: list[str] = []
    values: list[Any] = []
    for place, kind in enumerate(kinds):
        statement, given = things_named(text, kind=kind)[:FIRST].query.sql_with_params()
        parts.append(f"SELECT %s AS kind, thing FROM ({statement}) AS part{place}")  # noqa: S608
        values += [kind, *given]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), values)
        for kind, thing in cursor.fetchall():
            found[kind].append(thing)
    return found


def begins(word: str, *, column: str = "word") -> Q:
    """Return the condition that a folded column begins so, as each engine's index can answer it."""
    if connection.vendor == "postgresql":
        return Q(**{f"{column}__startswith": word})
    return Q(**{f"{column}__gte": word, f"{column}__lt": word + BEYOND})


def word_differences(
    named: Iterable[tuple[int, tuple[str, ...]]], *, kind: str
) -> Iterator[Difference]:
    """Yield things that are not found by the words of their names, or by others.

    Args: ``named`` each thing's id with its names.
    Queries: 1.
    """
    kept: dict[int, set[str]] = {}
    for thing, word in Word.objects.filter(kind=kind).values_list("thing", "word").iterator():
        kept.setdefault(thing, set()).add(word)
    for thing, names in named:
        there, due = kept.pop(thing, set()), set(words_of(*names))
        if there != due:
            wrong = ", ".join(sorted(there ^ due))
            yield Difference(f"{kind} {thing}", f"is not found as it is named: {wrong}")
    for thing in sorted(kept):
        yield Difference(f"{kind} {thing}", "is found by words, and is not there")
