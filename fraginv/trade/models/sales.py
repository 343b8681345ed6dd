"""Sales and what is still owed on them."""

from django.db import models
from django.db.models import F, Q

from fraginv.stock.models import Claim, Frag, Variety
from fraginv.stock.rules.stages import SIZES
from fraginv.trade.models.customers import Customer, CustomerKind, PaperName
from fraginv.trade.models.frozen import Frozen
from fraginv.trade.models.numbered import Numbered
from fraginv.trade.rules.words import SALE_GROUPS, Basis, Channel


class Sale(Numbered):
    """A sale as it was written: whom to, at which kind's prices, what it came to.

    Amounts are minor units; ``discounts`` holds those of the lines and of the
    whole. ``tax_rate`` is null where a loaded table gave the lines' tax;
    ``exempt_by`` names the certificate that made it free of tax.
    """

    channel = models.CharField(max_length=8)
    kind = models.ForeignKey(CustomerKind, on_delete=models.PROTECT, related_name="+")
    customer = models.ForeignKey(
        Customer, on_delete=models.PROTECT, null=True, blank=True, related_name="sales"
    )
    paper_name = models.ForeignKey(
        PaperName, on_delete=models.PROTECT, null=True, blank=True, related_name="sales"
    )
    gross = models.BigIntegerField()
    discounts = models.BigIntegerField()
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    total = models.BigIntegerField()
    tax_name = models.CharField(max_length=60, blank=True)
    tax_rate = models.DecimalField(max_digits=7, decimal_places=6, null=True, blank=True)
    tax_basis = models.CharField(max_length=7)
    exempt_by = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=200, blank=True)
    imported = models.BooleanField(default=False)

    class Meta:
        ordering = ["-day", "-pk"]
        indexes = [
            models.Index(fields=["-day", "-id"], name="sale_day"),
            models.Index(fields=["customer", "-day", "-id"], name="sale_of_customer"),
        ]
        constraints = [
            models.UniqueConstraint(fields=["series", "year", "number"], name="sale_number_once"),
            models.CheckConstraint(condition=Q(number__gte=1), name="sale_number_from_one"),
            models.CheckConstraint(
                condition=Q(channel__in=[channel.value for channel in Channel]),
                name="sale_channel_known",
            ),
            models.CheckConstraint(
                condition=Q(tax_basis__in=[basis.value for basis in Basis]), name="sale_basis_known"
            ),
            models.CheckConstraint(
                condition=Q(discounts__gte=0, discounts__lte=F("gross"), tax__gte=0),
                name="sale_amounts_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(net=F("gross") - F("discounts"), total=F("net") + F("tax")),
                name="sale_adds_up",
            ),
            models.CheckConstraint(
                condition=Q(exempt_by="") | Q(tax=0), name="sale_exempt_without_tax"
            ),
        ]


class SaleLine(Frozen):
    """One line of a sale; month and channel are its sale's, for the month's sums.

    ``discount`` holds the line's own and its part of the whole sale's.
    """

    sale = models.ForeignKey(Sale, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveIntegerField()
    frag = models.ForeignKey(
        Frag, on_delete=models.PROTECT, null=True, blank=True, related_name="sale_lines"
    )
    claim = models.OneToOneField(
        Claim, on_delete=models.PROTECT, null=True, blank=True, related_name="sale_line"
    )
    variety = models.ForeignKey(
        Variety, on_delete=models.PROTECT, null=True, blank=True, related_name="sale_lines"
    )
    group = models.CharField(max_length=12)
    size = models.CharField(max_length=4, blank=True)
    text = models.CharField(max_length=200)
    quantity = models.PositiveIntegerField()
    unit_price = models.BigIntegerField()
    gross = models.BigIntegerField()
    discount = models.BigIntegerField()
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    month = models.PositiveIntegerField()
    channel = models.CharField(max_length=8)

    class Meta:
        ordering = ["sale", "position"]
        indexes = [
            models.Index(
                fields=["month", "channel", "group", "gross", "discount", "net", "tax", "quantity"],
                name="sale_line_month_sums",
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["sale", "position"], name="sale_line_place_once"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="sale_line_has_pieces"),
            models.CheckConstraint(
                condition=Q(gross=F("quantity") * F("unit_price"), net=F("gross") - F("discount")),
                name="sale_line_adds_up",
            ),
            models.CheckConstraint(
                condition=Q(
                    unit_price__gte=0, discount__gte=0, discount__lte=F("gross"), tax__gte=0
                ),
                name="sale_line_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(frag__isnull=True) | Q(claim__isnull=False),
                name="sale_line_frag_has_claim",
            ),
            models.CheckConstraint(
                condition=Q(group__in=SALE_GROUPS), name="sale_line_group_known"
            ),
            models.CheckConstraint(condition=Q(size__in=["", *SIZES]), name="sale_line_size_known"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.text}"


class Balance(models.Model):
    """What is still owed on a sale, in minor units; the one thing about it that changes.

    Day and customer are its sale's, so that what is open is found among what is open alone.
    """

    sale = models.OneToOneField(
        Sale, on_delete=models.PROTECT, primary_key=True, related_name="balance"
    )
    owed = models.BigIntegerField()
    day = models.DateField()
    customer = models.ForeignKey(
        Customer,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="balances",
        db_index=False,
    )

    class Meta:
        indexes = [
            models.Index(fields=["day", "sale"], condition=Q(owed__gt=0), name="balance_open"),
            models.Index(
                fields=["customer", "owed"], condition=Q(owed__gt=0), name="balance_open_of"
            ),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(owed__gte=0), name="balance_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.owed} owed"
