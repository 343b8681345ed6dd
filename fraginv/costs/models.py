"""Kinds of cost, bills and their lines."""

from typing import Any, NoReturn

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from fraginv.base.errors import Conflict
from fraginv.base.models import Party
from fraginv.base.rules.money import LARGEST
from fraginv.costs.rules import (
    IMPORTED_SERIES,
    LONGEST_KIND,
    LONGEST_NOTE,
    PAID_BY,
    SERIES,
    SHARE_PLACES,
    Serves,
    Settled,
    bill_label,
)
from fraginv.ledger.models import Entry, Posted


class CostKind(models.Model):
    """A kind of cost, such as electricity; two spellings of one name are one kind."""

    name = models.CharField(max_length=LONGEST_KIND)
    folded = models.CharField(max_length=3 * LONGEST_KIND, unique=True)

    class Meta:
        ordering = ["folded"]
        constraints = [
            models.CheckConstraint(condition=~Q(name="") & ~Q(folded=""), name="cost_kind_named"),
        ]

    def __str__(self) -> str:
        return self.name


class Bill(models.Model):
    """A bill as it came: what it serves, how it stands, and the entry that it posted.

    ``display_share`` is 1 for the display's bills and 0 for the frags'. After it is
    entered only its payment changes.
    """

    series = models.CharField(max_length=2)
    year = models.PositiveSmallIntegerField()
    number = models.PositiveIntegerField()
    day = models.DateField()
    month = models.PositiveIntegerField()
    supplier = models.ForeignKey(
        Party, on_delete=models.PROTECT, null=True, blank=True, related_name="bills"
    )
    serves = models.CharField(max_length=7, choices=[(word.value, word.value) for word in Serves])
    display_share = models.DecimalField(
        max_digits=SHARE_PLACES + 1,
        decimal_places=SHARE_PLACES,
        validators=[MinValueValidator(0), MaxValueValidator(1)],
    )
    amount = models.BigIntegerField()
    settled = models.CharField(
        max_length=7, choices=[(word.value, word.value.replace("_", " ")) for word in Settled]
    )
    paid_by = models.CharField(max_length=8, blank=True)
    paid_on = models.DateField(null=True, blank=True)
    paid_month = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=LONGEST_NOTE, blank=True)
    imported = models.BooleanField(default=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="+")
    payment_entry = models.OneToOneField(
        Entry, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["-day", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["series", "year", "number"], name="bill_number_once_a_year"
            ),
            models.CheckConstraint(condition=Q(number__gte=1), name="bill_number_from_one"),
            models.CheckConstraint(
                condition=Q(imported=False, series=SERIES)
                | Q(imported=True, series=IMPORTED_SERIES),
                name="bill_series_tells_import",
            ),
            models.CheckConstraint(
                condition=Q(amount__gt=0, amount__lte=LARGEST), name="bill_amount_in_range"
            ),
            models.CheckConstraint(
                condition=Q(serves=Serves.DISPLAY.value, display_share=1)
                | Q(serves=Serves.FRAGS.value, display_share=0)
                | Q(serves=Serves.SHARED.value, display_share__gte=0, display_share__lte=1),
                name="bill_share_fits_what_it_serves",
            ),
            models.CheckConstraint(
                condition=Q(
                    settled=Settled.PAID.value,
                    paid_by__in=PAID_BY,
                    paid_on__isnull=False,
                    paid_month__isnull=False,
                )
                | Q(
                    settled__in=[Settled.OWED.value, Settled.IN_KIND.value],
                    paid_by="",
                    paid_on__isnull=True,
                    paid_month__isnull=True,
                    payment_entry__isnull=True,
                ),
                name="bill_payment_fits_how_it_stands",
            ),
        ]
        indexes = [
            models.Index(fields=["month", "day"], name="bill_by_month"),
            models.Index(
                fields=["paid_month"],
                condition=Q(paid_month__isnull=False),
                name="bill_by_paid_month",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        """Refuse: a bill that was entered stays."""
        raise Conflict("A bill that was entered stays. Enter another one that corrects it.")

    @property
    def label(self) -> str:
        """Show the bill's number with its series and year."""
        return bill_label(self.series, year=self.year, number=self.number)

    @property
    def is_owed(self) -> bool:
        """Tell whether the bill is still to be paid."""
        return self.settled == Settled.OWED


class BillLine(Posted):
    """One kind of cost on a bill, in its two parts: the display's and the frags' own."""

    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="lines")
    kind = models.ForeignKey(CostKind, on_delete=models.PROTECT, related_name="lines")
    amount = models.BigIntegerField()
    display = models.BigIntegerField()
    direct = models.BigIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="bill_line_amount_positive"),
            models.CheckConstraint(
                condition=Q(display__gte=0, direct__gte=0, amount=F("display") + F("direct")),
                name="bill_line_parts_sum",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind_id} {self.amount}"
