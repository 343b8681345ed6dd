"""What is cut from: varieties, colonies, and the cuttings made."""

from django.conf import settings
from django.db import models

from fraginv.base.models import Code, Party
from fraginv.stock.models.places import Rack
from fraginv.stock.rules.stages import MEDIUMS
from fraginv.taxa.models import Genus
from fraginv.taxa.rules import GROUP_NAMES, GROUPS


class Variety(models.Model):
    """What a customer asks for: a species or a colour form under its trade name."""

    name = models.CharField(max_length=80, unique=True)
    genus = models.ForeignKey(Genus, on_delete=models.PROTECT, related_name="varieties")
    species = models.CharField(max_length=60, blank=True)
    group = models.CharField(max_length=10, choices=list(GROUP_NAMES.items()))
    care = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "varieties"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(group__in=GROUPS), name="variety_group_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def latin(self) -> str:
        """Return the scientific name as far as it is known.

        Queries: 1 unless the genus was fetched along.
        """
        return f"{self.genus.name} {self.species or 'sp.'}"


class Colony(models.Model):
    """A coral kept to be cut from, and what rule it is under."""

    class State(models.TextChoices):
        LIVING = "living"
        DEAD = "dead"
        SOLD = "sold"
        GIVEN = "given"
        DISPLAYED = "displayed"

    class Origin(models.TextChoices):
        CUT_HERE = "cut here"
        BOUGHT = "bought"
        TRADED = "traded"
        DONATED = "donated"
        SEIZED = "seized"
        ON_LOAN = "on loan"
        BROKEN_OFF = "broken off"

    code = models.OneToOneField(Code, on_delete=models.PROTECT, related_name="colony")
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="colonies")
    origin = models.CharField(max_length=12, choices=Origin.choices, default=Origin.CUT_HERE)
    acquired_on = models.DateField()
    supplier = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True)
    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, null=True, blank=True)
    rest_days = models.PositiveSmallIntegerField(default=30)
    last_cut_on = models.DateField(null=True, blank=True)
    barred_because = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=10, choices=State.choices, default=State.LIVING)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["variety__name", "pk"]
        verbose_name_plural = "colonies"

    def __str__(self) -> str:
        return f"{self.variety.name} {self.code_id}"


class Cutting(models.Model):
    """One sitting at the bench with one colony."""

    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, related_name="cuttings")
    day = models.DateField()
    month = models.PositiveIntegerField()
    pieces = models.PositiveSmallIntegerField()
    lost = models.PositiveSmallIntegerField(default=0)
    medium = models.CharField(max_length=4, choices=list(MEDIUMS.items()))
    as_lot = models.BooleanField(default=False)
    despite_rest = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    recorded_at = models.DateTimeField()

    class Meta:
        ordering = ["-day", "-pk"]
        indexes = [
            models.Index(fields=["month"], include=["pieces"], name="cutting_month"),
            models.Index(fields=["-day", "-id"], name="cutting_day"),
            models.Index(fields=["colony", "-day", "-id"], name="cutting_of_colony"),
        ]
        constraints = [
            models.CheckConstraint(condition=models.Q(pieces__gte=1), name="cutting_has_pieces"),
            models.CheckConstraint(
                condition=models.Q(month__gte=190001), name="cutting_month_written"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day} {self.colony_id}"
