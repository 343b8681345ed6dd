"""Stop-sales: what is closed to sale, why, and until when."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.rules.codes import show_code
from fraginv.stock.models.colonies import Colony
from fraginv.stock.models.places import System, Trough
from fraginv.stock.models.varieties import Variety
from fraginv.taxa.models import Genus

CONCERNS = ("system", "trough", "colony", "variety", "genus")


def one_of(names: tuple[str, ...]) -> Q:
    """Return the condition that exactly one of these columns is filled."""
    found = Q()
    for chosen in names:
        found |= Q(**{f"{name}__isnull": name != chosen for name in names})
    return found


class StopSale(models.Model):
    """Nothing from one water, colony or kind is sold until what ``ends_when`` says.

    It is ended by hand; a row is never deleted. ``ended_at`` is empty while it holds.
    """

    system = models.ForeignKey(System, on_delete=models.PROTECT, null=True, blank=True)
    trough = models.ForeignKey(Trough, on_delete=models.PROTECT, null=True, blank=True)
    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, null=True, blank=True)
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, null=True, blank=True)
    genus = models.ForeignKey(Genus, on_delete=models.PROTECT, null=True, blank=True)
    reason = models.CharField(max_length=200)
    ends_when = models.CharField(max_length=200)
    since = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    ended_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]
        indexes = [
            models.Index(fields=["-id"], condition=Q(ended_at__isnull=True), name="stop_holding"),
        ]
        constraints = [
            models.CheckConstraint(condition=one_of(CONCERNS), name="stop_concerns_one"),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, ended_by__isnull=True)
                | Q(ended_at__isnull=False, ended_by__isnull=False),
                name="stop_ended_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"stop-sale {self.pk}: {self.reason}"

    @property
    def concerns(self) -> str:
        """Return what it concerns, in words.

        Queries: 1 to 2 unless that was fetched along.
        """
        if self.system:
            return f"All water of {self.system.name}"
        if self.trough:
            return f"Trough {self.trough.name} of {self.trough.system.name}"
        if self.colony:
            return f"Colony {self.colony.variety.name} {show_code(self.colony.code_id)}"
        return f"Variety {self.variety.name}" if self.variety else f"All {self.genus}"
