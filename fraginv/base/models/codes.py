"""Every code that a label can carry."""

from django.db import models


class End(models.Func):
    """The last three characters of a code, which will do on a small plug."""

    function = "SUBSTR"
    template = "%(function)s(%(expressions)s, 5)"
    output_field = models.CharField()


class Code(models.Model):
    """One code: what kind of thing carries it, and when it was last printed.

    A ``blank`` code was printed ahead and belongs to nothing yet; ``run`` and
    ``position`` say where it stands on the roll or sheet it was printed on.
    """

    class Kind(models.TextChoices):
        BLANK = "blank"
        FRAG = "frag"
        COLONY = "colony"
        RACK = "rack"
        LIST = "list"

    code = models.CharField(max_length=7, primary_key=True)
    kind = models.CharField(max_length=6, choices=Kind.choices)
    run = models.PositiveIntegerField(null=True, blank=True)
    position = models.PositiveIntegerField(null=True, blank=True)
    made_at = models.DateTimeField()
    printed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(End("code"), name="code_end"),
            models.Index(
                fields=["run", "position"],
                condition=models.Q(kind="blank"),
                name="code_blank_in_run",
            ),
        ]
        constraints = [
            models.UniqueConstraint(fields=["run", "position"], name="code_place_in_run_once"),
            models.CheckConstraint(
                condition=models.Q(kind__in=["blank", "frag", "colony", "rack", "list"]),
                name="code_kind_known",
            ),
        ]

    def __str__(self) -> str:
        return self.code


class PrintedSize(models.Model):
    """A size at which a code's symbol came out of a printer, and when it last did.

    An old label may last, so each size stays. ``symbol_mm`` is the side of the symbol;
    ``modules``, how many it has along a side, is 0 where that was not written down.
    """

    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="sizes")
    symbol_mm = models.DecimalField(max_digits=5, decimal_places=2)
    modules = models.PositiveSmallIntegerField(default=0)
    printed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["code", "symbol_mm", "modules"], name="printed_size_once_a_code"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code_id} at {self.symbol_mm} mm"


class OldCode(models.Model):
    """A mark under which a thing was known before it had its code, or a code that it had before.

    ``folded`` is the text in capitals without blanks and separators, by which it is found.
    """

    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="old_codes")
    text = models.CharField(max_length=40)
    folded = models.CharField(max_length=40, db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["code", "folded"], name="old_code_once_a_thing"),
        ]

    def __str__(self) -> str:
        return self.text
