"""The water log."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.stock.models.places import System, Trough
from fraginv.stock.rules.water import MEASURED, WaterKind, name_of_kind, unit_of


class WaterEntry(models.Model):
    """A measurement of a body of water, or what was done or happened to it.

    ``value`` is in the unit of its kind; an outage, a treatment and a dose say what
    they were in ``text``. Without a trough it holds for the whole system.
    """

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="water")
    trough = models.ForeignKey(
        Trough, on_delete=models.PROTECT, null=True, blank=True, related_name="water"
    )
    kind = models.CharField(max_length=11)
    value = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    text = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "water entries"
        indexes = [
            models.Index(fields=["system", "kind", "-at", "-id"], name="water_of_system"),
            models.Index(fields=["system", "-at", "-id"], name="water_latest"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in WaterKind]), name="water_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(value__isnull=False)
                | ~Q(kind__in=sorted(kind.value for kind in MEASURED)),
                name="water_measured_has_value",
            ),
            models.UniqueConstraint(
                fields=["system", "kind", "at"],
                condition=Q(trough__isnull=True, struck_at__isnull=True),
                name="water_once_a_system",
            ),
            models.UniqueConstraint(
                fields=["trough", "kind", "at"],
                condition=Q(trough__isnull=False, struck_at__isnull=True),
                name="water_once_a_trough",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.value or self.text} of {self.system_id}"

    @property
    def says(self) -> str:
        """Return what was measured with its unit, or what was done, in words."""
        name = name_of_kind(self.kind)
        if self.value is None:
            return f"{name}: {self.text}"
        told = f"{name} {self.value.normalize():f} {unit_of(self.kind)}"
        return f"{told}, {self.text}" if self.text else told
