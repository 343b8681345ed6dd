"""What the nightly verify found."""

from django.db import models


class Checkup(models.Model):
    """One run of ``verify``: how many differences, and the first of them in words."""

    at = models.DateTimeField()
    count = models.PositiveIntegerField()
    told = models.JSONField(default=list)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.count} differences"
