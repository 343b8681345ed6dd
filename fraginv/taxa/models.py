"""Reference tables: the genera of the trade, and species that a law protects."""

from typing import ClassVar

from django.db import models

from fraginv.taxa.rules import GROUP_NAMES, GROUPS, split_names


class Genus(models.Model):
    """Say where a genus stands, what sort the trade counts it to, and what to beware of.

    ``other_names`` holds older and trade names, with semicolons between. A False
    ``palytoxin`` means that no general warning is known, which proves nothing.
    """

    name = models.CharField(max_length=60, unique=True)
    family = models.CharField(max_length=60)
    order = models.CharField(max_length=60)
    group = models.CharField(max_length=20, choices=list(GROUP_NAMES.items()))
    cites = models.BooleanField(help_text="Listed in CITES Appendix II.")
    palytoxin = models.BooleanField(help_text="May carry palytoxin.")
    other_names = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)
    source = models.CharField(max_length=300, help_text="Where genus and family were read.")
    verified = models.BooleanField(help_text="The pair of genus and family was looked up.")

    class Meta:
        ordering: ClassVar[list[str]] = ["name"]
        verbose_name_plural = "genera"
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.CheckConstraint(
                condition=models.Q(group__in=GROUPS), name="genus_group_is_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def names(self) -> list[str]:
        """Return every name by which this genus is searched, its own first."""
        return [self.name, *split_names(self.other_names)]


class ProtectedSpecies(models.Model):
    """Name one species that a national law protects, and the rule that lists it.

    ``also_known_as`` is a whole second name, genus and species.
    """

    genus = models.CharField(max_length=60)
    species = models.CharField(max_length=60)
    also_known_as = models.CharField(max_length=120, blank=True)
    status = models.CharField(
        max_length=20, choices=[("threatened", "Threatened"), ("endangered", "Endangered")]
    )
    source = models.CharField(max_length=300)

    class Meta:
        ordering: ClassVar[list[str]] = ["genus", "species"]
        verbose_name_plural = "protected species"
        constraints: ClassVar[list[models.BaseConstraint]] = [
            models.UniqueConstraint(fields=["genus", "species"], name="protected_species_once"),
        ]

    def __str__(self) -> str:
        return f"{self.genus} {self.species}"
