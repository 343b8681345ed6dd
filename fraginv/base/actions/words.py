"""Keeping the words by which things are found."""

from collections.abc import Iterable

from django.db.models import Model

from fraginv.base.models import Word
from fraginv.base.rules.words import words_of

BATCH = 1_000


def write_words(
    named: Iterable[tuple[int, tuple[str, ...]]], *, kind: str, word: type[Model] = Word
) -> None:
    """Write the words of new things' names; they stay as long as the things keep them.

    Args: ``named`` each thing's id with its names; the model, which a migration passes
        in the form it had then.
    Queries: 1 for each thousand words, on SQLite for each 333.
    """
    word._default_manager.bulk_create(
        (
            word(kind=kind, word=one, thing=thing)
            for thing, names in named
            for one in words_of(*names)
        ),
        batch_size=BATCH,
    )


def rewrite_words(named: Iterable[tuple[int, tuple[str, ...]]], *, kind: str) -> None:
    """Write the words of things anew whose names, or those of what they belong to, changed.

    Args: as for ``write_words``.
    Queries: 1, and as ``write_words``.
    """
    things = list(named)
    Word.objects.filter(kind=kind, thing__in=[thing for thing, _ in things]).delete()
    write_words(things, kind=kind)
