"""Sizes measured from photos."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.growth.models.photos import Photo
from fraginv.growth.rules.camera import Scale
from fraginv.growth.rules.measured import OutlineBy
from fraginv.stock.models import Frag


class Measurement(models.Model):
    """The size of a frag as one photo shows it, reviewed by a person; never changed.

    Areas are projected, in mm²; ``outline_px`` is in pixels of the upright photo that
    the camera took (``photo.part_of`` where the photo was cut out of it), pixel centres
    at whole numbers; ``outline_mm`` in millimetres in the plane of the outline. ``pose``
    is the view it was measured with. Where no outline was drawn, only the length
    between two points is known. A later one of the same photo takes its place:
    ``replaced_at`` says when.
    """

    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="measurements")
    frag = models.ForeignKey(Frag, on_delete=models.PROTECT, related_name="measurements")
    area_mm2 = models.FloatField(null=True, blank=True)
    sigma_area_mm2 = models.FloatField(null=True, blank=True)
    diameter_mm = models.FloatField(null=True, blank=True)
    sigma_diameter_mm = models.FloatField(null=True, blank=True)
    heads = models.PositiveSmallIntegerField(null=True, blank=True)
    scale = models.CharField(max_length=6, blank=True)
    height_mm = models.FloatField(null=True, blank=True)
    through_water = models.BooleanField(default=False)
    outline_by = models.CharField(max_length=9, blank=True)
    outline_px = models.JSONField(default=list)
    outline_mm = models.JSONField(default=list)
    heads_px = models.JSONField(default=list)
    pose = models.JSONField(default=dict)
    problems = models.JSONField(default=list)
    method = models.CharField(max_length=40)
    version = models.CharField(max_length=20)
    taken_at = models.DateTimeField()
    taken_on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    replaced_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["taken_at", "pk"]
        indexes = [
            models.Index(
                fields=["frag", "taken_at", "id"],
                condition=Q(replaced_at__isnull=True),
                name="measurement_of_frag",
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["photo"],
                condition=Q(replaced_at__isnull=True),
                name="measurement_present_once",
            ),
            models.CheckConstraint(
                condition=Q(scale__in=["", *(one.value for one in Scale)]),
                name="measurement_scale_known",
            ),
            models.CheckConstraint(
                condition=Q(outline_by__in=["", *(one.value for one in OutlineBy)]),
                name="measurement_outline_by_known",
            ),
            models.CheckConstraint(
                condition=Q(area_mm2__isnull=True) | Q(area_mm2__gt=0, diameter_mm__gt=0),
                name="measurement_has_extent",
            ),
            models.CheckConstraint(
                condition=Q(diameter_mm__isnull=False) | Q(heads__isnull=False),
                name="measurement_says_something",
            ),
        ]

    def __str__(self) -> str:
        return f"measurement {self.pk} of {self.taken_on}"
