"""Who works off tasks, what is due when, and what was reported."""

from django.db import models


class Beat(models.Model):
    """A worker's sign of life: written while it waits and while it works."""

    worker = models.CharField(max_length=64, primary_key=True)
    host = models.CharField(max_length=255)
    started_at = models.DateTimeField()
    beat_at = models.DateTimeField()
    doing = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return self.worker


class Turn(models.Model):
    """When a job of the timetable is due next; whoever moves ``next_at`` on runs it, alone."""

    job = models.CharField(max_length=60, primary_key=True)
    next_at = models.DateTimeField()
    last_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.job


class Alarm(models.Model):
    """One kind of error in one hour, reported to the owner once."""

    kind = models.CharField(max_length=200)
    hour = models.DateTimeField()
    times = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "hour"], name="alarm_once_an_hour"),
        ]

    def __str__(self) -> str:
        return self.kind
