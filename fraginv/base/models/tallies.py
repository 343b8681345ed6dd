"""Sums that are kept as they grow."""

from django.db import models


class Tally(models.Model):
    """What something adds up to, kept in the transactions that change it.

    ``month`` is 0 for what stands now. ``name`` says what is counted, its parts
    divided by strokes. ``verify`` adds everything up again and compares.
    """

    month = models.PositiveIntegerField()
    name = models.CharField(max_length=60)
    amount = models.BigIntegerField()

    class Meta:
        verbose_name_plural = "tallies"
        constraints = [
            models.UniqueConstraint(fields=["month", "name"], name="tally_once_a_month"),
        ]
        indexes = [models.Index(fields=["name", "month"], name="tally_by_name")]

    def __str__(self) -> str:
        return f"{self.name} {self.month}: {self.amount}"
