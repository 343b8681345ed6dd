"""What was printed: print runs and the labels on them."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import Code


class PrintRun(models.Model):
    """One printing of label sheets, so that the same sheets can be printed again.

    ``host`` and ``symbol_mm`` are as they were then; ``ahead`` of the labels,
    the last ones, belonged to nothing yet.
    """

    stock = models.CharField(max_length=40)
    skip = models.PositiveSmallIntegerField(default=0)
    host = models.CharField(max_length=60)
    symbol_mm = models.DecimalField(max_digits=5, decimal_places=2)
    count = models.PositiveSmallIntegerField()
    ahead = models.PositiveSmallIntegerField(default=0)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(count__gte=1), name="print_run_has_labels"),
            models.CheckConstraint(
                condition=Q(ahead__lte=models.F("count")), name="print_run_ahead_within_count"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} labels, {self.stock}"


class PrintedLabel(models.Model):
    """One label of a print run; ``position`` counts from 0, skipped places left out."""

    run = models.ForeignKey(PrintRun, on_delete=models.CASCADE, related_name="labels")
    position = models.PositiveSmallIntegerField()
    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="labels")

    class Meta:
        ordering = ["run", "position"]
        constraints = [
            models.UniqueConstraint(fields=["run", "position"], name="label_place_in_run_once"),
        ]

    def __str__(self) -> str:
        return self.code_id
