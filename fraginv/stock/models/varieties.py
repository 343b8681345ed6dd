"""What customers ask for."""

from django.db import models
from django.db.models import Q

from fraginv.stock.rules.stages import SIZES
from fraginv.taxa.models import Genus
from fraginv.taxa.rules import GROUP_NAMES, GROUPS


class Variety(models.Model):
    """What a customer asks for: a species or a colour form under its trade name.

    The rule when its frags are ready, and how often they want to be seen, is the
    group's where it is left empty (``rules/ready.py``). ``ready_mm`` is how wide they
    are across when they are sold, where somebody said so.
    """

    name = models.CharField(max_length=80, unique=True)
    genus = models.ForeignKey(Genus, on_delete=models.PROTECT, related_name="varieties")
    species = models.CharField(max_length=60, blank=True)
    group = models.CharField(max_length=10, choices=list(GROUP_NAMES.items()))
    care = models.TextField(blank=True)
    note = models.TextField(blank=True)
    heal_days = models.PositiveSmallIntegerField(null=True, blank=True)
    ready_days = models.PositiveSmallIntegerField(null=True, blank=True)
    ready_size = models.CharField(max_length=4, blank=True)
    ready_heads = models.PositiveSmallIntegerField(null=True, blank=True)
    ready_mm = models.PositiveSmallIntegerField(null=True, blank=True)
    see_days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "varieties"
        constraints = [
            models.CheckConstraint(condition=Q(group__in=GROUPS), name="variety_group_known"),
            models.CheckConstraint(
                condition=Q(ready_size__in=["", *SIZES]), name="variety_ready_size_known"
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
