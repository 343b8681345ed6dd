"""Files that came in, each kept once."""

from django.db import models
from django.db.models import Q

from fraginv.base.rules.optics import Optics
from fraginv.base.rules.pictures import sizes_kept


class StoredFile(models.Model):
    """A file as it came in, known by its hash; pictures have small renditions beside it.

    ``sha256`` is that of the bytes that were sent, ``kept_sha256`` that of the
    original as it is kept, without place and device. ``taken_at`` and
    ``focal_length_mm`` are what a picture said of itself before place and
    device were removed; ``focal_35_mm`` is there only where it tells how wide the
    picture looks, and ``optics`` is empty where nobody looked. Pictures from before
    there was one for papers lack it until ``has_print`` is set.
    """

    sha256 = models.CharField(max_length=64, unique=True)
    kept_sha256 = models.CharField(max_length=64)
    media_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    focal_length_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    focal_35_mm = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    optics = models.CharField(max_length=7, blank=True)
    has_print = models.BooleanField(default=False)
    private = models.BooleanField(default=False)
    stored_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(optics__in=["", *(one.value for one in Optics)]),
                name="stored_file_optics_known",
            ),
        ]
        indexes = [
            models.Index(
                fields=["id"],
                condition=Q(has_print=False, width__isnull=False),
                name="stored_file_without_print",
            ),
        ]

    def __str__(self) -> str:
        return self.sha256[:12]

    @property
    def sizes(self) -> tuple[int, ...]:
        """Return the sizes in which it is kept beside its original, in pixels."""
        return sizes_kept(has_print=self.has_print)
