"""Mother colonies: where they came from, on what papers, and what happened to them."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.base.models import Code, Party, StoredFile
from fraginv.stock.models.places import Rack
from fraginv.stock.models.varieties import Variety
from fraginv.stock.rules.colonies import (
    BAR_KINDS,
    ORIGINS,
    SOURCE_CODES,
    BarKind,
    ColonyKind,
    Origin,
    State,
)


class Colony(models.Model):
    """A coral kept to be cut from, and what rule it is under.

    ``from_frag`` is the frag that it was before it was kept, ``mother`` the colony from
    which that was cut. Without an owner it is ours; else ``owner_share`` of what its frags
    bring is the owner's, in hundredths of a percent, and no piece is sold below
    ``owner_least``, in minor units. ``barred_because`` is what bars it now, its own bar's
    reason or that of a colony it descends from.
    """

    code = models.OneToOneField(Code, on_delete=models.PROTECT, related_name="colony")
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="colonies")
    from_frag = models.OneToOneField(
        "stock.Frag", on_delete=models.PROTECT, null=True, blank=True, related_name="kept_as"
    )
    mother = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="daughters"
    )
    origin = models.CharField(max_length=12, choices=list(ORIGINS.items()), default=Origin.CUT_HERE)
    acquired_on = models.DateField()
    supplier = models.ForeignKey(Party, on_delete=models.PROTECT, null=True, blank=True)
    invoice = models.CharField(max_length=80, blank=True)
    permit = models.CharField(max_length=80, blank=True)
    source_code = models.CharField(max_length=1, choices=list(SOURCE_CODES.items()), blank=True)
    no_paper_because = models.CharField(max_length=200, blank=True)
    owner = models.ForeignKey(
        Party, on_delete=models.PROTECT, null=True, blank=True, related_name="owned_colonies"
    )
    owner_share = models.PositiveSmallIntegerField(null=True, blank=True)
    owner_least = models.PositiveBigIntegerField(null=True, blank=True)
    rack = models.ForeignKey(Rack, on_delete=models.PROTECT, null=True, blank=True)
    rest_days = models.PositiveSmallIntegerField(default=30)
    most_pieces = models.PositiveSmallIntegerField(null=True, blank=True)
    last_cut_on = models.DateField(null=True, blank=True)
    barred_because = models.CharField(max_length=200, blank=True)
    state = models.CharField(max_length=10, default=State.LIVING.value)
    left_on = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["variety__name", "pk"]
        verbose_name_plural = "colonies"
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=[state.value for state in State]), name="colony_state_known"
            ),
            models.CheckConstraint(
                condition=Q(owner_share__isnull=True)
                | Q(owner__isnull=False, owner_share__lte=10_000),
                name="colony_share_is_an_owners",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.variety.name} {self.code_id}"


class ColonyEvent(models.Model):
    """One thing that happened to a colony, as it was written down; never changed."""

    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=14)
    at = models.DateTimeField()
    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    body = models.JSONField(default=dict)

    class Meta:
        ordering = ["colony", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in ColonyKind]),
                name="colony_event_kind_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.colony_id} {self.kind}"


class Bar(models.Model):
    """What forbids to cut, sell or give a colony and all that descends from it."""

    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, related_name="bars")
    kind = models.CharField(max_length=9, choices=list(BAR_KINDS.items()))
    reason = models.CharField(max_length=200)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    set_at = models.DateTimeField()
    lifted_at = models.DateTimeField(null=True, blank=True)
    lifted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    lifted_because = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in BarKind]), name="bar_kind_known"
            ),
            models.UniqueConstraint(
                fields=["colony"], condition=Q(lifted_at__isnull=True), name="bar_one_at_a_time"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.reason}"


class ColonyPaper(models.Model):
    """A paper that came with a colony: an invoice, a permit, a letter; for the crew alone."""

    colony = models.ForeignKey(Colony, on_delete=models.PROTECT, related_name="papers")
    file = models.ForeignKey(StoredFile, on_delete=models.PROTECT, related_name="+")
    title = models.CharField(max_length=80)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    filed_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["colony", "file"], name="colony_paper_once"),
        ]

    def __str__(self) -> str:
        return self.title
