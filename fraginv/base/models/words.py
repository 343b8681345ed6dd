"""Words by which things are found."""

from django.db import models


class Word(models.Model):
    """One folded word of a thing's names; ``thing`` is its id among those of its kind.

    An index over the beginnings of words finds it, on SQLite and PostgreSQL alike.
    ``verify`` reads the names again and compares.
    """

    kind = models.CharField(max_length=10)
    word = models.CharField(max_length=60)
    thing = models.BigIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "thing", "word"], name="word_once_a_thing"),
        ]
        indexes = [
            models.Index(
                fields=["kind", "word", "thing"],
                name="word_beginning",
                opclasses=["varchar_ops", "varchar_pattern_ops", "int8_ops"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.thing}: {self.word}"
