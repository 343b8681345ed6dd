"""Pictures that came in, until each is filed, thrown away or refused."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import StoredFile
from fraginv.growth.rules.intake import State
from fraginv.stock.models import Rack


class Batch(models.Model):
    """Pictures that one person sent in one go.

    ``rack`` is where they were taken, if somebody said so; ``scanned`` the codes that
    the phone had scanned before, each with when: ``[["7K3Q9FN", "2026-11-25T14:03:11Z"], …]``.
    """

    key = models.UUIDField(unique=True)
    rack = models.ForeignKey(
        Rack, on_delete=models.PROTECT, null=True, blank=True, related_name="batches"
    )
    scanned = models.JSONField(default=list)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"pictures of {self.at:%Y-%m-%d %H:%M}"


class Incoming(models.Model):
    """One picture of a batch.

    While it is ``waiting`` its bytes lie in the private store, for it alone. ``labels``
    are what was read in it: code and corners in pixels of the upright picture, each
    ``{"code": "7K3Q9FN", "corners": [[x, y], …]}``. ``why`` is the code of a problem,
    ``said`` what people read of it.
    """

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="pictures")
    sha256 = models.CharField(max_length=64)
    name = models.CharField(max_length=120)
    state = models.CharField(max_length=9, default=State.WAITING.value)
    why = models.CharField(max_length=20, blank=True)
    said = models.CharField(max_length=400, blank=True)
    labels = models.JSONField(default=list)
    file = models.ForeignKey(
        StoredFile, on_delete=models.PROTECT, null=True, blank=True, related_name="incoming"
    )
    taken_at = models.DateTimeField(null=True, blank=True)
    at = models.DateTimeField()
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["id"], condition=Q(state=State.TRAY.value), name="incoming_in_tray"
            ),
            models.Index(
                fields=["id"], condition=Q(state=State.WAITING.value), name="incoming_waiting"
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["batch", "sha256"], name="incoming_once_a_batch"),
            models.CheckConstraint(
                condition=Q(state__in=[one.value for one in State]), name="incoming_state_known"
            ),
            models.CheckConstraint(
                condition=~Q(state__in=[State.TRAY.value, State.FILED.value])
                | Q(file__isnull=False),
                name="incoming_kept_has_file",
            ),
        ]

    def __str__(self) -> str:
        return self.name
