"""Every code that a label can carry."""

from django.db import models


class End(models.Func):
    """The last three characters of a code, which will do on a small plug."""

    function = "SUBSTR"
    template = "%(function)s(%(expressions)s, 5)"
    output_field = models.CharField()


class Code(models.Model):
    """One code: what kind of thing carries it, and when and at what size it was last printed.

    ``symbol_mm`` is the side of its symbol as it came out last, ``symbol_modules`` how many
    modules it has; what it was before stands in ``EarlierSize``, for an old label may last.
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
    symbol_mm = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    symbol_modules = models.PositiveSmallIntegerField(null=True, blank=True)

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


class EarlierSize(models.Model):
    """Another size at which a code was printed before, and when; ``modules`` where it is known."""

    code = models.ForeignKey(Code, on_delete=models.PROTECT, related_name="earlier_sizes")
    symbol_mm = models.DecimalField(max_digits=5, decimal_places=2)
    modules = models.PositiveSmallIntegerField(null=True, blank=True)
    printed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]

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
