"""What every paper with a number has."""

from django.conf import settings
from django.db import models

from fraginv.trade.models.frozen import Frozen
from fraginv.trade.rules.words import paper_number


class Numbered(Frozen):
    """A paper: its number within series and year, its day and month, who wrote it and when."""

    series = models.CharField(max_length=4)
    year = models.PositiveSmallIntegerField()
    number = models.PositiveIntegerField()
    day = models.DateField()
    month = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.paper

    @property
    def paper(self) -> str:
        """Return the number as it stands on the paper."""
        return paper_number(self.series, self.year, self.number)
