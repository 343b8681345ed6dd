"""What labels are printed on, what was printed, and which labels are lost."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fraginv.base.models import Code
from fraginv.labels.rules.forms import FORM_NAMES


class Printer(models.Model):
    """One printer as its check sheet was measured.

    The sheet has a bar of ``bar_mm`` across and one down, which begin ``corner_mm``
    from the paper's left and top edge; the four measures say in tenths of a
    millimetre what a ruler found.
    """

    name = models.CharField(max_length=40, unique=True)
    dpi = models.PositiveSmallIntegerField(default=300)
    bar_mm = models.PositiveSmallIntegerField(default=100)
    corner_mm = models.PositiveSmallIntegerField(default=20)
    across_tenths = models.PositiveSmallIntegerField(default=1000)
    down_tenths = models.PositiveSmallIntegerField(default=1000)
    left_tenths = models.PositiveSmallIntegerField(default=200)
    top_tenths = models.PositiveSmallIntegerField(default=200)
    measured_at = models.DateTimeField(null=True, blank=True)
    measured_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(bar_mm__gte=10, across_tenths__gte=1, down_tenths__gte=1),
                name="printer_bar_has_a_length",
            ),
            models.CheckConstraint(
                condition=Q(dpi__gte=150, dpi__lte=2400), name="printer_dots_in_reach"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class OwnStock(models.Model):
    """A kind of label sheet or roll that the organisation uses; measures in micrometres.

    On a roll each label is a page of its own, and the gap to the next one
    belongs to the page.
    """

    name = models.CharField(max_length=40, unique=True)
    is_roll = models.BooleanField(default=False)
    form = models.CharField(max_length=10, default="plain")
    page_width_um = models.PositiveIntegerField()
    page_height_um = models.PositiveIntegerField()
    width_um = models.PositiveIntegerField()
    height_um = models.PositiveIntegerField()
    columns = models.PositiveSmallIntegerField(default=1)
    rows = models.PositiveSmallIntegerField(default=1)
    left_um = models.PositiveIntegerField(default=0)
    top_um = models.PositiveIntegerField(default=0)
    pitch_x_um = models.PositiveIntegerField()
    pitch_y_um = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=Q(form__in=FORM_NAMES), name="own_stock_form_known"),
            models.CheckConstraint(
                condition=Q(columns__gte=1, rows__gte=1, width_um__gte=1, height_um__gte=1),
                name="own_stock_has_labels",
            ),
            models.CheckConstraint(
                condition=Q(
                    page_width_um__gte=F("left_um")
                    + (F("columns") - 1) * F("pitch_x_um")
                    + F("width_um"),
                    page_height_um__gte=F("top_um")
                    + (F("rows") - 1) * F("pitch_y_um")
                    + F("height_um"),
                ),
                name="own_stock_within_its_page",
            ),
            models.CheckConstraint(
                condition=(Q(columns=1) | Q(pitch_x_um__gte=F("width_um")))
                & (Q(rows=1) | Q(pitch_y_um__gte=F("height_um"))),
                name="own_stock_labels_apart",
            ),
            models.CheckConstraint(
                condition=Q(is_roll=False) | Q(columns=1, rows=1), name="own_stock_roll_is_single"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Adjustment(models.Model):
    """On which printer a stock is printed, and how far all on it is moved by hand.

    ``stock`` is the name of a stock of either kind, the house's or the organisation's.
    """

    stock = models.CharField(max_length=40, unique=True)
    printer = models.ForeignKey(
        Printer, on_delete=models.PROTECT, null=True, blank=True, related_name="adjustments"
    )
    right_tenths = models.SmallIntegerField(default=0)
    down_tenths = models.SmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(right_tenths__range=(-100, 100), down_tenths__range=(-100, 100)),
                name="adjustment_within_a_centimetre",
            ),
        ]

    def __str__(self) -> str:
        return self.stock


class PrintRun(models.Model):
    """One printing of label sheets, so that the same sheets can be printed again.

    ``host`` and ``symbol_mm`` are as they were then; ``ahead`` of the labels,
    the last ones, belonged to nothing yet. ``again_of`` is the run whose labels
    from number ``first`` on, counted from 1, were printed once more.
    """

    stock = models.CharField(max_length=40)
    form = models.CharField(max_length=10, default="plain")
    skip = models.PositiveSmallIntegerField(default=0)
    host = models.CharField(max_length=60)
    symbol_mm = models.DecimalField(max_digits=5, decimal_places=2)
    count = models.PositiveSmallIntegerField()
    ahead = models.PositiveSmallIntegerField(default=0)
    again_of = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="again"
    )
    first = models.PositiveSmallIntegerField(default=1)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(count__gte=1), name="print_run_has_labels"),
            models.CheckConstraint(
                condition=Q(ahead__lte=models.F("count")), name="print_run_ahead_within_count"
            ),
            models.CheckConstraint(condition=Q(form__in=FORM_NAMES), name="print_run_form_known"),
        ]

    def __str__(self) -> str:
        return f"{self.count} labels, {self.stock}"


class PrintedLabel(models.Model):
    """One label of a print run; ``position`` counts from 0, skipped places left out."""

    run = models.ForeignKey(PrintRun, on_delete=models.CASCADE, related_name="labels")
    position = models.PositiveSmallIntegerField()
    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="labels")

    class Meta:
        ordering = ["run", "position"]
        constraints = [
            models.UniqueConstraint(fields=["run", "position"], name="label_place_in_run_once"),
        ]

    def __str__(self) -> str:
        return self.code_id


class LostLabel(models.Model):
    """A label that fell off or cannot be read, until it is printed anew or found again."""

    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="lost_labels")
    noted_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    settled_at = models.DateTimeField(null=True, blank=True)
    run = models.ForeignKey(
        PrintRun, on_delete=models.PROTECT, null=True, blank=True, related_name="replaced"
    )

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(
                fields=["id"], condition=Q(settled_at__isnull=True), name="lost_label_waiting"
            ),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["code"],
                condition=Q(settled_at__isnull=True),
                name="lost_label_noted_once",
            ),
            models.CheckConstraint(
                condition=Q(run__isnull=True) | Q(settled_at__isnull=False),
                name="lost_label_printed_is_settled",
            ),
        ]

    def __str__(self) -> str:
        return self.code_id


class RetiredRoll(models.Model):
    """A roll of blank labels whose rest was thrown away; ``number`` is that on its labels."""

    number = models.PositiveIntegerField(unique=True)
    thrown_away = models.PositiveSmallIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(condition=Q(thrown_away__gte=1), name="retired_roll_had_labels"),
        ]

    def __str__(self) -> str:
        return f"Roll {self.number}"
