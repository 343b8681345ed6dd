"""Money received, and which part of a sale it was for."""

from django.db import models
from django.db.models import F, Q

from fraginv.trade.models.credits import Credit
from fraginv.trade.models.frozen import Frozen
from fraginv.trade.models.numbered import Numbered
from fraginv.trade.models.sales import Sale
from fraginv.trade.rules.words import Means


class Payment(Numbered):
    """Money received for a sale, in minor units; ``goods`` of it is without tax."""

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="payments")
    means = models.CharField(max_length=8)
    amount = models.BigIntegerField()
    goods = models.BigIntegerField()
    tax = models.BigIntegerField()

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(fields=["month", "means", "amount", "tax"], name="payment_month_sums"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["series", "year", "number"], name="payment_number_once"
            ),
            models.CheckConstraint(condition=Q(number__gte=1), name="payment_number_from_one"),
            models.CheckConstraint(
                condition=Q(means__in=[means.value for means in Means]), name="payment_means_known"
            ),
            models.CheckConstraint(
                condition=Q(amount__gte=1, goods__gte=0, tax__gte=0), name="payment_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(amount=F("goods") + F("tax")), name="payment_adds_up"
            ),
        ]


class Taking(Frozen):
    """What a payment brought, or a credit gave back, for the goods of one group, without tax.

    The cash basis of the month adds these up; what a credit gave back is negative.
    """

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="takings")
    payment = models.ForeignKey(
        Payment, on_delete=models.PROTECT, null=True, blank=True, related_name="takings"
    )
    credit = models.ForeignKey(
        Credit, on_delete=models.PROTECT, null=True, blank=True, related_name="takings"
    )
    month = models.PositiveIntegerField()
    channel = models.CharField(max_length=8)
    group = models.CharField(max_length=12)
    amount = models.BigIntegerField()

    class Meta:
        indexes = [
            models.Index(
                fields=["month", "channel", "group", "payment", "amount"], name="taking_month_sums"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(payment__isnull=True) ^ Q(credit__isnull=True), name="taking_of_one"
            ),
            models.CheckConstraint(condition=~Q(amount=0), name="taking_not_nothing"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} for {self.group}"
