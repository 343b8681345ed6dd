"""Backups that were made, or tried."""

from django.db import models


class Backup(models.Model):
    """One backup: when, why, into which file, and what went wrong if something did.

    ``problem`` is empty for a good one; ``second_problem`` says why the copy
    in the second place failed, and ``copied`` whether there is one.
    """

    class How(models.TextChoices):
        HAND = "hand", "by hand"
        NIGHT = "night", "nightly"
        UPGRADE = "upgrade", "before an upgrade"

    at = models.DateTimeField()
    how = models.CharField(max_length=7, choices=How.choices)
    file = models.CharField(max_length=500)
    size_bytes = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    seconds = models.FloatField(default=0)
    problem = models.TextField(blank=True)
    copied = models.BooleanField(default=False)
    second_problem = models.TextField(blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["-at", "-id"])]

    def __str__(self) -> str:
        return self.file
