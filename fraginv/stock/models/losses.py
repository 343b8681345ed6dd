"""Losses as they are counted."""

from django.db import models
from django.db.models import Q

from fraginv.stock.models.colonies import Colony
from fraginv.stock.models.frags import Frag, FragEvent
from fraginv.stock.models.places import Rack, Trough
from fraginv.stock.models.varieties import Variety
from fraginv.stock.rules.stages import CAUSES


class Loss(models.Model):
    """Pieces lost at one event, with where they stood and how old they were then.

    It says again what the event says, in columns that sums are made over; an
    ``undone`` one does not count.
    """

    event = models.OneToOneField(FragEvent, on_delete=models.PROTECT, related_name="loss")
    frag = models.ForeignKey(Frag, on_delete=models.PROTECT, related_name="losses")
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="+")
    colony = models.ForeignKey(
        Colony, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    rack = models.ForeignKey(
        Rack, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    trough = models.ForeignKey(
        Trough, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    pieces = models.PositiveSmallIntegerField()
    cause = models.CharField(max_length=11)
    day = models.DateField()
    month = models.PositiveIntegerField()
    age_days = models.PositiveIntegerField()
    undone = models.BooleanField(default=False)

    class Meta:
        ordering = ["-day", "-pk"]
        verbose_name_plural = "losses"
        indexes = [
            models.Index(fields=["-day", "-id"], name="loss_day"),
            models.Index(fields=["frag"], name="loss_frag"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(pieces__gte=1), name="loss_has_pieces"),
            models.CheckConstraint(condition=Q(cause__in=list(CAUSES)), name="loss_cause_known"),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} of {self.frag_id}, {self.cause}"

    @property
    def cause_words(self) -> str:
        """Return the cause as people say it."""
        return CAUSES.get(self.cause, self.cause)
