"""Photos over time."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import StoredFile
from fraginv.stock.models import Colony, Frag, Variety

ONE_SUBJECT = (
    Q(frag__isnull=False, colony__isnull=True, variety__isnull=True)
    | Q(frag__isnull=True, colony__isnull=False, variety__isnull=True)
    | Q(frag__isnull=True, colony__isnull=True, variety__isnull=False)
)


class Photo(models.Model):
    """A picture of one frag, one colony, or a variety as such.

    ``taken_at`` is what the picture says of itself, or when it was filed;
    ``taken_on`` is the business day of that moment.
    """

    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="photos")
    frag = models.ForeignKey(
        Frag, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    colony = models.ForeignKey(
        Colony, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    variety = models.ForeignKey(
        Variety, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    taken_at = models.DateTimeField()
    taken_on = models.DateField()
    caption = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    filed_at = models.DateTimeField()

    class Meta:
        ordering = ["-taken_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=ONE_SUBJECT, name="photo_has_one_subject"),
            models.UniqueConstraint(
                fields=["file", "frag"], condition=Q(frag__isnull=False), name="photo_frag_once"
            ),
            models.UniqueConstraint(
                fields=["file", "colony"],
                condition=Q(colony__isnull=False),
                name="photo_colony_once",
            ),
            models.UniqueConstraint(
                fields=["file", "variety"],
                condition=Q(variety__isnull=False),
                name="photo_variety_once",
            ),
        ]
        indexes = [models.Index(fields=["frag", "-taken_at", "-id"], name="photo_frag_latest")]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.taken_on}"

    @property
    def mark(self) -> str:
        """Return the part of the file's hash that stands in the picture's address.

        Queries: 1 unless the file was fetched along.
        """
        return self.file.sha256[:16]
