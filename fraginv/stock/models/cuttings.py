"""How frags come to be here: cuttings at the bench, and arrivals from elsewhere."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import Party
from fraginv.stock.models.colonies import Colony
from fraginv.stock.rules.colonies import ORIGINS, SOURCE_CODES
from fraginv.stock.rules.cutting import TOOLS
from fraginv.stock.rules.stages import MEDIUMS


class Cutting(models.Model):
    """One colony's part of a sitting at the bench."""

    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, related_name="cuttings")
    day = models.DateField()
    month = models.PositiveIntegerField()
    pieces = models.PositiveSmallIntegerField()
    lost = models.PositiveSmallIntegerField(default=0)
    medium = models.CharField(max_length=4, choices=list(MEDIUMS.items()))
    as_lot = models.BooleanField(default=False)
    tool = models.CharField(max_length=10, choices=list(TOOLS.items()), blank=True)
    dip = models.CharField(max_length=60, blank=True)
    despite_rest = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["-day", "-pk"]
        indexes = [
            models.Index(fields=["month"], include=["pieces"], name="cutting_month"),
            models.Index(fields=["-day", "-id"], name="cutting_day"),
            models.Index(fields=["colony", "-day", "-id"], name="cutting_of_colony"),
            models.Index(fields=["by", "-day", "-id"], name="cutting_of_person"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(pieces__gte=1), name="cutting_has_pieces"),
            models.CheckConstraint(condition=Q(month__gte=190001), name="cutting_month_written"),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.colony_id}"


class Arrival(models.Model):
    """Pieces that came in together: from whom, on what papers, at what cost.

    ``cost`` is what all of them cost together, in minor units, without tax.
    """

    day = models.DateField()
    month = models.PositiveIntegerField()
    origin = models.CharField(max_length=12, choices=list(ORIGINS.items()))
    supplier = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True)
    invoice = models.CharField(max_length=80, blank=True)
    permit = models.CharField(max_length=80, blank=True)
    source_code = models.CharField(max_length=1, choices=list(SOURCE_CODES.items()), blank=True)
    pieces = models.PositiveSmallIntegerField()
    cost = models.PositiveBigIntegerField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["-day", "-pk"]
        indexes = [models.Index(fields=["-day", "-id"], name="arrival_day")]
        constraints = [
            models.CheckConstraint(condition=Q(pieces__gte=1), name="arrival_has_pieces"),
        ]

    def __str__(self) -> str:
        return f"{self.day}: {self.pieces} pieces"
