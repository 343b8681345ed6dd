"""How fast each variety grows and becomes ready, as its own history tells."""

from django.db import models
from django.db.models import Q

from fraginv.stock.models import Variety


class VarietyPace(models.Model):
    """What a variety's history told when it was last counted, on ``counted_on``.

    Days from cutting to ready are taken as log-normal: ``log_days`` is the mean of their
    logarithm, ``log_days_sd`` the spread of one cutting about it, already shrunk towards
    group and prior; ``became_ready`` counts the frags behind it. ``rate`` is the growth of
    the logarithm of the projected area a day, ``rate_sd`` its spread among frags,
    ``measured`` the frags behind it; ``ready_log_area`` that of the size at which frags
    were graded ready.
    """

    variety = models.OneToOneField(Variety, on_delete=models.CASCADE, related_name="pace")
    counted_on = models.DateField()
    became_ready = models.PositiveIntegerField(default=0)
    log_days = models.FloatField()
    log_days_sd = models.FloatField()
    measured = models.PositiveIntegerField(default=0)
    rate = models.FloatField()
    rate_sd = models.FloatField()
    ready_log_area = models.FloatField(null=True, blank=True)
    ready_log_area_sd = models.FloatField(null=True, blank=True)
    graded_measured = models.PositiveIntegerField(default=0)
    survival = models.FloatField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(log_days_sd__gte=0, rate_sd__gte=0, survival__gte=0, survival__lte=1),
                name="variety_pace_sensible",
            ),
        ]

    def __str__(self) -> str:
        return f"pace of {self.variety_id}"
