"""What keeps writes single and numbers without gaps."""

from django.conf import settings
from django.db import models


class ReplayKey(models.Model):
    """A write from a browser that was done, so that the same again is not done twice."""

    key = models.UUIDField(primary_key=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    fingerprint = models.CharField(max_length=64)
    answer = models.CharField(max_length=300, blank=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.key)


class NumberSeries(models.Model):
    """The last number given in one series of one year."""

    series = models.CharField(max_length=4)
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["series", "year"], name="series_once_a_year"),
        ]
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.series} {self.year}"
