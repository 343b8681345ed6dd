"""Frags and what happened to them."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fraginv.base.models import Code
from fraginv.stock.models.colonies import Colony
from fraginv.stock.models.cuttings import Arrival, Cutting
from fraginv.stock.models.places import Rack
from fraginv.stock.models.varieties import Variety
from fraginv.stock.rules.digest import Written, digest_of
from fraginv.stock.rules.happenings import Kind
from fraginv.stock.rules.stages import SIZES, TROUBLES, Stage

LIVES = Q(pieces__gte=1)
# The same in other words: SQLite takes a partial index only where its own words are used, so
# that what is rare among all that lives is found by its own small index.
HERE = Q(pieces__gt=0)
HEALS = Q(stage=Stage.HEALING.value)
GROWS = Q(stage=Stage.GROWING.value)


class Frag(models.Model):
    """A labelled piece, or a lot of alike ones, as it stands now.

    ``pieces`` are alive here, ``free`` of them are promised to nobody. The row
    says what its events add up to and is written together with them. What it was
    cut onto is ``medium``, what it stands on since ``new_medium``. By ``heal_by`` it
    has usually healed, and from ``likely_on`` it is likely ready: not told by events,
    but worked out from its variety's rule.
    """

    code = models.OneToOneField(Code, on_delete=models.PROTECT, related_name="frag")
    variety = models.ForeignKey(Variety, on_delete=models.PROTECT, related_name="frags")
    colony = models.ForeignKey(
        Colony, on_delete=models.PROTECT, null=True, blank=True, related_name="frags"
    )
    cutting = models.ForeignKey(
        Cutting, on_delete=models.PROTECT, null=True, blank=True, related_name="frags"
    )
    arrival = models.ForeignKey(
        Arrival, on_delete=models.PROTECT, null=True, blank=True, related_name="frags"
    )
    split_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="split_into"
    )
    is_lot = models.BooleanField(default=False)
    medium = models.CharField(max_length=4, default="plug")
    new_medium = models.CharField(max_length=4, blank=True)
    pieces = models.PositiveSmallIntegerField()
    free = models.PositiveSmallIntegerField()
    stage = models.CharField(max_length=7)
    apart = models.BooleanField(default=False)
    quarantined = models.BooleanField(default=False)
    quarantined_on = models.DateField(null=True, blank=True)
    clean_checks = models.PositiveSmallIntegerField(default=0)
    checked_on = models.DateField(null=True, blank=True)
    kept_back = models.BooleanField(default=False)
    fresh = models.BooleanField(default=False)
    wrong = models.CharField(max_length=11, blank=True)
    dip_due_on = models.DateField(null=True, blank=True)
    seen_on = models.DateField(null=True, blank=True)
    size = models.CharField(max_length=4, blank=True)
    heads = models.PositiveSmallIntegerField(null=True, blank=True)
    rack = models.ForeignKey(
        Rack, on_delete=models.PROTECT, null=True, blank=True, related_name="frags"
    )
    hole_row = models.PositiveSmallIntegerField(null=True, blank=True)
    hole_column = models.PositiveSmallIntegerField(null=True, blank=True)
    cut_on = models.DateField()
    ready_on = models.DateField(null=True, blank=True)
    ended_on = models.DateField(null=True, blank=True)
    heal_by = models.DateField(null=True, blank=True)
    likely_on = models.DateField(null=True, blank=True)
    last_seq = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-pk"]
        # Those that live are few beside all that ever were, so they have indexes of their own.
        indexes = [
            models.Index(fields=["stage", "-id"], name="frag_stage"),
            models.Index(fields=["variety", "stage", "-id"], name="frag_variety_stage"),
            models.Index(fields=["-id"], condition=LIVES, name="frag_living"),
            models.Index(fields=["variety", "-id"], condition=LIVES, name="frag_living_variety"),
            models.Index(fields=["rack"], condition=LIVES, name="frag_living_rack"),
            models.Index(fields=["colony"], condition=LIVES, name="frag_living_colony"),
            models.Index(fields=["stage", "cut_on", "id"], condition=LIVES, name="frag_living_age"),
            models.Index(fields=["heal_by", "id"], condition=HEALS, name="frag_healing_by"),
            models.Index(
                fields=["quarantined_on", "id"],
                condition=LIVES & Q(quarantined=True),
                name="frag_in_quarantine",
            ),
            models.Index(fields=["likely_on", "id"], condition=GROWS, name="frag_likely_on"),
            # For lists that are narrowed; which index leads says front/queries/frag_parts.py.
            models.Index(fields=["size", "-id"], condition=LIVES, name="frag_living_size"),
            models.Index(fields=["-cut_on", "-id"], condition=LIVES, name="frag_living_cut"),
            models.Index(fields=["stage", "-cut_on", "-id"], name="frag_stage_cut"),
            models.Index(fields=["-id"], condition=Q(free__lt=F("pieces")), name="frag_held"),
            models.Index(fields=["-id"], condition=Q(apart=True) & HERE, name="frag_apart"),
            models.Index(
                fields=["-id"], condition=Q(quarantined=True) & HERE, name="frag_quarantined"
            ),
            models.Index(fields=["-id"], condition=Q(kept_back=True) & HERE, name="frag_kept_back"),
            models.Index(fields=["-id"], condition=Q(wrong__gt="") & HERE, name="frag_wrong"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(free__gte=0, free__lte=F("pieces")), name="frag_free_within_pieces"
            ),
            models.CheckConstraint(
                condition=Q(stage__in=[stage.value for stage in Stage]), name="frag_stage_known"
            ),
            models.CheckConstraint(condition=Q(size__in=["", *SIZES]), name="frag_size_known"),
            models.UniqueConstraint(
                fields=["rack", "hole_row", "hole_column"],
                condition=Q(pieces__gte=1, hole_row__isnull=False),
                name="frag_alone_in_its_hole",
            ),
            models.CheckConstraint(
                condition=Q(wrong__in=["", *TROUBLES]), name="frag_trouble_known"
            ),
            models.CheckConstraint(
                condition=Q(quarantined=False) ^ Q(quarantined_on__isnull=False),
                name="frag_quarantined_since",
            ),
            models.CheckConstraint(
                condition=Q(pieces=0) ^ Q(stage__in=["healing", "growing", "ready"]),
                name="frag_living_has_pieces",
            ),
        ]

    def __str__(self) -> str:
        return self.code_id


class FragEvent(models.Model):
    """One thing that happened to a frag; never changed, never deleted."""

    frag = models.ForeignKey(Frag, on_delete=models.PROTECT, related_name="events")
    seq = models.PositiveIntegerField()
    kind = models.CharField(max_length=14)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    day = models.DateField()
    month = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    body = models.JSONField(default=dict)
    digest = models.CharField(max_length=32)

    class Meta:
        ordering = ["frag", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["frag", "seq"], name="event_seq_once"),
            models.CheckConstraint(
                condition=Q(kind__in=[kind.value for kind in Kind]), name="event_kind_known"
            ),
        ]
        indexes = [models.Index(fields=["month", "kind"], name="event_month_kind")]

    def __str__(self) -> str:
        return f"{self.frag_id}/{self.seq} {self.kind}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Write a new event; an old one stays as it is."""
        if self.pk is not None:
            raise TypeError("An event is never changed; record another one.")
        super().save(*args, **kwargs)

    def content_digest(self) -> str:
        """Return the digest of what this row says now.

        Queries: none.
        """
        return digest_of(
            Written(
                frag=self.frag_id,
                seq=self.seq,
                kind=self.kind,
                at=self.at,
                recorded_at=self.recorded_at,
                day=self.day,
                month=self.month,
                by=self.by_id,
                body=self.body,
            )
        )
