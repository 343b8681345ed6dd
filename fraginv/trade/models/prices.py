"""What is asked for a piece, and the tax on it; each from a day on."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from fraginv.stock.models import Frag, Variety
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.models.customers import CustomerKind
from fraginv.trade.models.frozen import Frozen
from fraginv.trade.rules.words import SALE_GROUPS, Basis, Unit


class Price(Frozen):
    """A price as it was set; a later row with the same target takes its place from its day on."""

    kind = models.ForeignKey(CustomerKind, on_delete=models.PROTECT, related_name="prices")
    variety = models.ForeignKey(
        Variety, on_delete=models.PROTECT, null=True, blank=True, related_name="prices"
    )
    group = models.CharField(max_length=12, blank=True)
    frag = models.ForeignKey(
        Frag, on_delete=models.PROTECT, null=True, blank=True, related_name="prices"
    )
    size = models.CharField(max_length=4, blank=True)
    unit = models.CharField(max_length=5, default=Unit.PIECE.value)
    amount = models.BigIntegerField()
    first_day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["kind", "first_day"], name="price_kind_day")]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gte=0), name="price_not_negative"),
            models.CheckConstraint(
                condition=Q(unit__in=[unit.value for unit in Unit]), name="price_unit_known"
            ),
            models.CheckConstraint(condition=Q(size__in=["", *SIZES]), name="price_size_known"),
            models.CheckConstraint(
                condition=Q(group__in=["", *SALE_GROUPS]), name="price_group_known"
            ),
            models.CheckConstraint(
                condition=Q(variety__isnull=False, group="", frag__isnull=True)
                | (Q(variety__isnull=True, frag__isnull=True) & ~Q(group=""))
                | Q(variety__isnull=True, group="", frag__isnull=False, size=""),
                name="price_for_one_thing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} per {self.unit}"


class TaxRate(Frozen):
    """The combined sales tax rate from a day on, and whether it is rounded by item or invoice."""

    name = models.CharField(max_length=60, default="Sales tax")
    rate = models.DecimalField(max_digits=7, decimal_places=6)
    basis = models.CharField(max_length=7)
    first_day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-first_day", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(rate__gte=0, rate__lte=1), name="tax_rate_fraction"),
            models.CheckConstraint(
                condition=Q(basis__in=[Basis.ITEM.value, Basis.INVOICE.value]),
                name="tax_basis_known",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.rate}"
