"""Bodies of water, the troughs in them, the racks in those."""

from django.db import models

from fraginv.base.models import Code


class System(models.Model):
    """A body of water; one for quarantine shares no water with the display."""

    name = models.CharField(max_length=60, unique=True)
    quarantine = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Trough(models.Model):
    """A basin in a system."""

    system = models.ForeignKey(System, on_delete=models.PROTECT, related_name="troughs")
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["system", "name"], name="trough_name_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Rack(models.Model):
    """A grid of holes in a trough; rows and columns are counted from 1."""

    code = models.OneToOneField(Code, on_delete=models.PROTECT, related_name="rack")
    trough = models.ForeignKey(Trough, on_delete=models.PROTECT, related_name="racks")
    name = models.CharField(max_length=60)
    rows = models.PositiveSmallIntegerField()
    columns = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["trough", "name"]
        constraints = [
            models.UniqueConstraint(fields=["trough", "name"], name="rack_name_once"),
            models.CheckConstraint(
                condition=models.Q(rows__gte=1, columns__gte=1), name="rack_has_holes"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.trough.name}, {self.name}"
