"""Tables that were brought in, and those that wait until somebody has looked at them."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.rules.typed_days import DayOrder


class TableLoad(models.Model):
    """A table that was brought in; ``mark`` tells its rows from those of any other table.

    ``again`` counts how often the very same rows were brought in before. ``said`` holds
    sentences, ``given`` the line, the code and the old code of each thing that was made.
    """

    kind = models.CharField(max_length=20)
    mark = models.CharField(max_length=64)
    again = models.PositiveSmallIntegerField(default=0)
    name = models.CharField(max_length=120)
    rows = models.PositiveIntegerField()
    said = models.JSONField(default=list)
    given = models.JSONField(default=list)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "mark", "again"], name="table_load_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.name}"


class Upload(models.Model):
    """A table that somebody sent and has not brought in or thrown away yet.

    Its bytes lie in the private store, for it alone. ``head`` holds its columns and
    first rows as they were understood; ``problems`` counts what is wrong with it.
    """

    kind = models.CharField(max_length=20)
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=120)
    days = models.CharField(
        max_length=11, choices=[(order.value, order.value) for order in DayOrder]
    )
    rows = models.PositiveIntegerField(default=0)
    mark = models.CharField(max_length=64, blank=True)
    head = models.JSONField(default=dict)
    said = models.JSONField(default=list)
    problems = models.PositiveIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["sha256"], name="upload_sha256")]
        constraints = [
            models.CheckConstraint(
                condition=Q(days__in=[order.value for order in DayOrder]),
                name="upload_days_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.name}"


class UploadProblem(models.Model):
    """One thing that is wrong with a table that waits, with its line and column."""

    upload = models.ForeignKey(
        Upload, on_delete=models.CASCADE, related_name="problem_rows", db_index=False
    )
    line = models.PositiveIntegerField()
    column = models.CharField(max_length=80, blank=True)
    reason = models.TextField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["upload", "id"], name="upload_problem_place")]

    def __str__(self) -> str:
        return f"line {self.line}, {self.column}"
