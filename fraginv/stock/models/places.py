"""Bodies of water, the troughs in them, the racks in those, and what happened to racks."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import Code
from fraginv.stock.rules.racks import RackKind

# What was withdrawn stays for what its past tells; its name may be used again.
IN_USE = Q(withdrawn_on__isnull=True)


class System(models.Model):
    """A body of water; one for quarantine shares no water with the display.

    What comes into quarantine stays ``least_days`` and until it was found clean
    ``clean_checks`` times in a row, looked at every ``check_days``.
    """

    name = models.CharField(max_length=60)
    quarantine = models.BooleanField(default=False)
    least_days = models.PositiveSmallIntegerField(default=30)
    clean_checks = models.PositiveSmallIntegerField(default=3)
    check_days = models.PositiveSmallIntegerField(default=7)
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["name"], condition=IN_USE, name="system_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Trough(models.Model):
    """A basin in a system."""

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="troughs")
    name = models.CharField(max_length=60)
    withdrawn_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["system", "name"], condition=IN_USE, name="trough_name_once"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Rack(models.Model):
    """A grid of holes in a trough; rows and columns are counted from 1.

    A rack that is ``turned`` stands turned round in its trough; its holes keep
    their names. ``seen_on`` is the day on which all in it was last looked at.
    """

    code = models.OneToOneField(Code, on_delete=models.PROTECT, related_name="rack")
    trough = models.ForeignKey(Trough, on_delete=models.PROTECT, related_name="racks")
    name = models.CharField(max_length=60)
    rows = models.PositiveSmallIntegerField()
    columns = models.PositiveSmallIntegerField()
    turned = models.BooleanField(default=False)
    seen_on = models.DateField(null=True, blank=True)
    withdrawn_on = models.DateField(null=True, blank=True)
    last_seq = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["trough", "name"]
        constraints = [
            models.UniqueConstraint(
                fields=["trough", "name"], condition=IN_USE, name="rack_name_once"
            ),
            models.CheckConstraint(condition=Q(rows__gte=1, columns__gte=1), name="rack_has_holes"),
        ]

    def __str__(self) -> str:
        return f"{self.trough.name}, {self.name}"


class RackEvent(models.Model):
    """One thing that happened to a rack with all that stands in it; never changed."""

    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, related_name="events")
    seq = models.PositiveIntegerField()
    kind = models.CharField(max_length=8)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    body = models.JSONField(default=dict)

    class Meta:
        ordering = ["rack", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["rack", "seq"], name="rack_event_seq_once"),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in RackKind]),
                name="rack_event_kind_known",
            ),
        ]
        indexes = [models.Index(fields=["day", "kind"], name="rack_event_day_kind")]

    def __str__(self) -> str:
        return f"{self.rack_id}/{self.seq} {self.kind}"


class RackCount(models.Model):
    """What somebody has counted of a rack so far, until it is settled or thrown away.

    ``there`` says of each frag by its id how many pieces were found, ``extra`` which
    frags were found that should stand elsewhere.
    """

    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, related_name="counts")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    begun_at = models.DateTimeField()
    there = models.JSONField(default=dict)
    extra = models.JSONField(default=list)

    class Meta:
        ordering = ["rack", "by"]
        constraints = [
            models.UniqueConstraint(fields=["rack", "by"], name="rack_count_one_each"),
        ]

    def __str__(self) -> str:
        return f"count of {self.rack_id} by {self.by_id}"
