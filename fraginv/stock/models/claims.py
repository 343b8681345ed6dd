"""Who has what."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import Party
from fraginv.stock.models.frags import Frag
from fraginv.stock.rules.holds import ClaimKind


class Claim(models.Model):
    """Pieces of a frag that somebody has: on hold, or bought.

    A hold with ``until`` is dead from that moment on, whether or not
    ``ended_at`` has been written yet.
    """

    frag = models.ForeignKey(Frag, on_delete=models.PROTECT, related_name="claims")
    pieces = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=5)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True)
    for_name = models.CharField(max_length=120, blank=True)
    until = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_how = models.CharField(max_length=10, blank=True)
    turned_into = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="came_from"
    )
    back = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["frag"],
                condition=Q(ended_at__isnull=True) & ~Q(kind="sale"),
                name="claim_open_holds",
            ),
            models.Index(fields=["party"], name="claim_party"),
            models.Index(
                fields=["until", "id"],
                condition=Q(ended_at__isnull=True, until__isnull=False),
                name="claim_running_out",
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(pieces__gte=1), name="claim_has_pieces"),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in ClaimKind]), name="claim_kind_known"
            ),
            models.CheckConstraint(
                condition=Q(back__lte=models.F("pieces")), name="claim_back_within_pieces"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["walk", "named"]) ^ Q(until__isnull=True),
                name="claim_until_for_clocked_holds",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.pieces} of {self.frag_id}"

    @property
    def holder(self) -> str:
        """Return who has it, in words.

        Queries: 1 unless the party was fetched along.
        """
        return self.party.name if self.party is not None else self.for_name or "a walk-in"
