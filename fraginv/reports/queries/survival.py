"""How frags that were cut in a period fared, put together by age in the database."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from django.db.models import (
    DurationField,
    ExpressionWrapper,
    F,
    IntegerField,
    Q,
    QuerySet,
    Sum,
)
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Cast

from fraginv.base.queries.organisation import today
from fraginv.base.rules.csv_text import Cell
from fraginv.growth.rules.survival import Ages, Curve, kaplan_meier
from fraginv.stock.models import Colony, Cutting, Frag, FragEvent, Loss, Variety
from fraginv.stock.models.frags import LIVES
from fraginv.stock.rules.happenings import Kind

HEADINGS = ("age_days", "at_risk", "lost", "alive", "low_95", "high_95")
# Pieces that went otherwise than by dying, over to another code, or came in at a later age.
LEAVING: Final = Q(kind__in=[Kind.SOLD.value, Kind.GIVEN.value, Kind.KEPT.value])
MOVING: Final = Q(kind__in=[Kind.SPLIT.value, Kind.JOINED.value], body__has_key="into")
COMING: Final = (
    Q(kind=Kind.SPLIT.value, body__has_key="from")
    | Q(kind=Kind.JOINED.value, body__has_key="with")
    | Q(kind=Kind.RETURNED.value, body__alive=True)
    | Q(kind=Kind.FOUND.value)
)


@dataclass(frozen=True)
class Cohort:
    """Which cuttings are followed: of a period, and only those that fit what is asked."""

    first: date
    last: date
    variety: Variety | None = None
    group: str = ""
    colony: Colony | None = None
    medium: str = ""
    tool: str = ""

    def cuttings(self, prefix: str = "") -> Q:
        """Return the condition that a cutting is one of them.

        Args: ``prefix`` leads from the rows that are asked to their cutting.
        """
        asked: dict[str, object] = {"day__range": (self.first, self.last)}
        if self.variety is not None:
            asked["colony__variety"] = self.variety.pk
        if self.group:
            asked["colony__variety__group"] = self.group
        if self.colony is not None:
            asked["colony"] = self.colony.pk
        asked |= {name: value for name, value in self.methods() if value}
        return Q(**{f"{prefix}{name}": value for name, value in asked.items()})

    def methods(self) -> list[tuple[str, str]]:
        """Return how the frags were cut, where that is asked."""
        return [("medium", self.medium), ("tool", self.tool)]


@dataclass(frozen=True)
class Survival:
    """A cohort's curve, and what died at the bench before it begins."""

    cohort: Cohort
    curve: Curve
    bench: int
    living: int


def survival_of(cohort: Cohort) -> Survival:
    """Return how the frags of a cohort fared.

    Each row that is read is an age, however many frags there were. A frag that is cut again
    is followed on at its own age: what dies of the second cut died out of this cutting. What
    was cut off it on the same day is of the same cutting and followed from age 0; what was
    cut off it later is of no cutting, and of no curve. Parts of a lot keep its age.
    Queries: 6.
    """
    sums = Cutting.objects.filter(cohort.cuttings()).aggregate(
        pieces=Sum("pieces", default=0), bench=Sum("lost", default=0)
    )
    lost = Loss.objects.filter(cohort.cuttings("frag__cutting__"), undone=False).order_by()
    living = living_by_age(cohort)
    left = by_age(cohort, LEAVING)
    for age, pieces in living.items():
        left[age] = left.get(age, 0) + pieces
    ages = Ages(
        begun=sums["pieces"],
        lost=dict(lost.values_list("age_days").annotate(Sum("pieces"))),
        left=left,
        joined=by_age(cohort, COMING),
        moved=by_age(cohort, MOVING),
    )
    return Survival(cohort, kaplan_meier(ages.in_order()), sums["bench"], sum(living.values()))


def by_age(cohort: Cohort, which: Q) -> dict[int, int]:
    """Return the pieces of some events of a cohort's frags by their age in days.

    Queries: 1.
    """
    age = ExpressionWrapper(F("day") - F("frag__cut_on"), output_field=DurationField())
    pieces = Cast(KeyTextTransform("pieces", "body"), IntegerField())
    events: QuerySet[FragEvent] = FragEvent.objects.filter(
        which, cohort.cuttings("frag__cutting__")
    )
    rows = events.order_by().annotate(age=age).values_list("age").annotate(n=Sum(pieces))
    found: dict[int, int] = {}
    for lasted, count in rows:
        if count:
            days = max(lasted.days, 0)
            found[days] = found.get(days, 0) + count
    return found


def living_by_age(cohort: Cohort) -> dict[int, int]:
    """Return the pieces of a cohort that live still, by their age today.

    Queries: 1.
    """
    rows = Frag.objects.filter(LIVES, cohort.cuttings("cutting__")).order_by()
    present = today()
    return {
        max((present - cut_on).days, 0): pieces
        for cut_on, pieces in rows.values_list("cut_on").annotate(Sum("pieces"))
    }


def survival_rows(found: Survival) -> Iterator[list[Cell]]:
    """Yield the steps of a curve as a table.

    Queries: none.
    """
    for step in found.curve.steps:
        bounds = ["" if end is None else f"{end:.4f}" for end in (step.low, step.high)]
        yield [step.age, step.at_risk, step.lost, f"{float(step.survival):.4f}", *bounds]
