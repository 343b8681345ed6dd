"""Customers, the kinds of them, and their names on papers."""

from django.db import models
from django.db.models import F, Q

from fraginv.base.models import Party
from fraginv.trade.rules.certificates import Certificate


class CustomerKind(models.Model):
    """A kind of customer with prices of its own: retail, shop, staff."""

    name = models.CharField(max_length=30, unique=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class Customer(models.Model):
    """A party that buys: its kind, its resale certificate, its credit with us in minor units."""

    party = models.OneToOneField(Party, on_delete=models.PROTECT, related_name="customer")
    kind = models.ForeignKey(CustomerKind, on_delete=models.PROTECT, related_name="customers")
    certificate_state = models.CharField(max_length=40, blank=True)
    certificate_number = models.CharField(max_length=60, blank=True)
    certificate_from = models.DateField(null=True, blank=True)
    certificate_until = models.DateField(null=True, blank=True)
    credit = models.BigIntegerField(default=0)

    class Meta:
        ordering = ["party__name", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(credit__gte=0), name="customer_credit_not_negative"),
            models.CheckConstraint(
                condition=Q(
                    certificate_state="",
                    certificate_number="",
                    certificate_from__isnull=True,
                    certificate_until__isnull=True,
                )
                | (
                    ~Q(certificate_state="")
                    & ~Q(certificate_number="")
                    & Q(certificate_until__gte=F("certificate_from"))
                ),
                name="customer_certificate_whole_or_none",
            ),
        ]

    def __str__(self) -> str:
        return self.party.name

    @property
    def certificate(self) -> Certificate:
        """Return the resale certificate on file, empty where there is none."""
        return Certificate(
            state=self.certificate_state,
            number=self.certificate_number,
            valid_from=self.certificate_from,
            valid_until=self.certificate_until,
        )


class PaperName(models.Model):
    """The name and address that stand on a customer's papers.

    One row for all papers with the same words, apart from them, so that a
    person can be forgotten while the papers stay.
    """

    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="paper_names"
    )
    name = models.CharField(max_length=120)
    contact = models.CharField(max_length=120, blank=True)
    address = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["name"], name="paper_name_name")]

    def __str__(self) -> str:
        return self.name
