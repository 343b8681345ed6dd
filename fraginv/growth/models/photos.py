"""Photos over time."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import StoredFile
from fraginv.stock.models import Colony, Frag, Rack, Variety

SUBJECTS = ("frag", "colony", "variety", "rack")


def only(subject: str) -> Q:
    """Return the condition that a photo shows this and nothing else."""
    return Q(**{f"{name}__isnull": name != subject for name in SUBJECTS})


ONE_SUBJECT = only("frag") | only("colony") | only("variety") | only("rack")
PRESENT = Q(withdrawn_at__isnull=True)
IS_PART = Q(part_of__isnull=False, left__isnull=False, top__isnull=False, frag__isnull=False)
IS_WHOLE = Q(part_of__isnull=True, left__isnull=True, top__isnull=True)


class PresentPhotos(models.Manager["Photo"]):
    """Photos that stand, without those that were taken out again."""

    def get_queryset(self) -> models.QuerySet["Photo"]:
        """Return the rows."""
        return super().get_queryset().filter(withdrawn_at__isnull=True)


class Photo(models.Model):
    """A picture of one frag, one colony, a rack, or a variety as such.

    ``taken_at`` is what the picture says of itself, or when it was filed;
    ``taken_on`` is the business day of that moment. A frag's part of a photo of
    many is a photo of its own, whose file was cut out: ``left`` and ``top`` say
    where in the upright photo ``part_of`` it begins, in pixels. One that was filed by
    mistake is taken out: ``withdrawn_at`` says when, and only ``every`` finds it then.
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
    rack = models.ForeignKey(
        Rack, on_delete=models.PROTECT, null=True, blank=True, related_name="photos"
    )
    part_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="parts"
    )
    left = models.PositiveIntegerField(null=True, blank=True)
    top = models.PositiveIntegerField(null=True, blank=True)
    taken_at = models.DateTimeField()
    taken_on = models.DateField()
    caption = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    filed_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = PresentPhotos()
    every = models.Manager["Photo"]()

    class Meta:
        base_manager_name = "every"
        ordering = ["-taken_at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=ONE_SUBJECT, name="photo_has_one_subject"),
            models.UniqueConstraint(
                fields=["file", "frag"],
                condition=Q(frag__isnull=False) & PRESENT,
                name="photo_frag_once",
            ),
            models.UniqueConstraint(
                fields=["file", "colony"],
                condition=Q(colony__isnull=False) & PRESENT,
                name="photo_colony_once",
            ),
            models.CheckConstraint(
                condition=PRESENT ^ Q(withdrawn_by__isnull=False),
                name="photo_withdrawn_by_somebody",
            ),
            models.CheckConstraint(condition=IS_PART | IS_WHOLE, name="photo_part_or_whole"),
            models.UniqueConstraint(
                fields=["file", "rack"],
                condition=Q(rack__isnull=False) & PRESENT,
                name="photo_rack_once",
            ),
            models.UniqueConstraint(
                fields=["file", "variety"],
                condition=Q(variety__isnull=False) & PRESENT,
                name="photo_variety_once",
            ),
        ]
        indexes = [
            models.Index(fields=["frag", "-taken_at", "-id"], name="photo_frag_latest"),
            models.Index(fields=["by", "-taken_at"], name="photo_by_taken"),
        ]

    def __str__(self) -> str:
        return f"photo {self.pk} of {self.taken_on}"

    @property
    def mark(self) -> str:
        """Return the part of the file's hash that stands in the picture's address.

        Queries: 1 unless the file was fetched along.
        """
        return self.file.sha256[:16]
