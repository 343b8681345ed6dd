"""Files that came in, each kept once."""

from django.db import models


class StoredFile(models.Model):
    """A file as it came in, known by its hash; pictures have small renditions beside it.

    ``sha256`` is that of the bytes that were sent, ``kept_sha256`` that of the
    original as it is kept, without place and device. ``taken_at`` and
    ``focal_length_mm`` are what a picture said of itself before place and
    device were removed.
    """

    sha256 = models.CharField(max_length=64, unique=True)
    kept_sha256 = models.CharField(max_length=64)
    media_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    width = models.PositiveIntegerField(null=True, blank=True)
    height = models.PositiveIntegerField(null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    focal_length_mm = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    private = models.BooleanField(default=False)
    stored_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.sha256[:12]
