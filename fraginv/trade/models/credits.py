"""Credits: what was sold and is taken back, or made good."""

from django.db import models
from django.db.models import F, Q

from fraginv.trade.models.frozen import Frozen
from fraginv.trade.models.numbered import Numbered
from fraginv.trade.models.sales import Sale, SaleLine
from fraginv.trade.rules.words import Means


class Credit(Numbered):
    """A credit of a sale or parts of it, in minor units.

    ``off_owed`` lowers what is owed, ``refund`` goes back by ``refund_means``;
    ``refund_goods`` of it is without tax, with the rounding that the credit moved.
    """

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="credits")
    reason = models.CharField(max_length=200, blank=True)
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    total = models.BigIntegerField()
    off_owed = models.BigIntegerField()
    refund = models.BigIntegerField()
    refund_means = models.CharField(max_length=8, blank=True)
    refund_goods = models.BigIntegerField()
    refund_tax = models.BigIntegerField()

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["month", "refund_means", "refund", "refund_tax"], name="credit_month_sums"
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["series", "year", "number"], name="credit_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="credit_number_from_one"),
            models.CheckConstraint(
                condition=Q(net__gte=0, tax__gte=0, off_owed__gte=0, refund__gte=0),
                name="credit_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(total=F("net") + F("tax"))
                & Q(total=F("off_owed") + F("refund"))
                & Q(refund=F("refund_goods") + F("refund_tax")),
                name="credit_adds_up",
            ),
            models.CheckConstraint(
                condition=Q(refund=0, refund_means="")
                | Q(refund__gte=1, refund_means__in=[means.value for means in Means]),
                name="credit_refund_has_means",
            ),
        ]


class CreditLine(Frozen):
    """What is credited of one line of a sale; without pieces it is an allowance.

    ``part`` counts the credits of one line from 1, so that two at once cannot
    both rest on the same state of it. Month, channel and group are for sums.
    """

    credit = models.ForeignKey(Credit, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(SaleLine, on_delete=models.PROTECT, related_name="credit_lines")
    part = models.PositiveIntegerField()
    pieces = models.PositiveIntegerField()
    alive = models.PositiveIntegerField()
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    month = models.PositiveIntegerField()
    channel = models.CharField(max_length=8)
    group = models.CharField(max_length=12)

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["month", "channel", "group", "net", "tax", "pieces"],
                name="credit_line_month_sums",
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["line", "part"], name="credit_line_part_once"),
            models.CheckConstraint(
                condition=Q(net__gte=0, tax__gte=0), name="credit_line_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(alive__lte=F("pieces")), name="credit_line_alive_within_pieces"
            ),
            models.CheckConstraint(
                condition=Q(pieces__gte=1) | Q(net__gte=1), name="credit_line_not_nothing"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} pieces, {self.net}"
