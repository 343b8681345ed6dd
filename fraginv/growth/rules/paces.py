"""The paces of all varieties from what each told by itself, its group and what was stated."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from fraginv.growth.rules.pace import DaysTold, Span, seen_on, tell_days
from fraginv.growth.rules.priors import (
    DEATHS_WORTH,
    GROUP_SD,
    RATE_GROUP_SD,
    RATE_VARIETY_SD,
    READY_SD,
    USUAL_OVER_LEAST,
    VARIETY_SD,
    WRITTEN_SD,
    hazard_before,
    usual_for,
)
from fraginv.growth.rules.rates import Grown, SizesTold, tell_sizes
from fraginv.growth.rules.shrinking import Estimate, drawn_together, estimate, together


@dataclass(frozen=True, slots=True)
class Life:
    """Deaths of pieces before they were ready, and the days that pieces were followed."""

    deaths: int = 0
    piece_days: int = 0


@dataclass(frozen=True, slots=True)
class History:
    """What a house has seen of a variety; ``least_days`` is what somebody wrote of it."""

    variety: int
    group: str
    least_days: int | None = None
    spans: Sequence[Span] = ()
    grown: Sequence[Grown] = ()
    life: Life = Life()


@dataclass(frozen=True, slots=True)
class Told:
    """What a variety told by itself, as known on a day."""

    variety: int
    group: str
    least_days: int | None = None
    days: DaysTold = field(default_factory=DaysTold)
    sizes: SizesTold = field(default_factory=SizesTold)
    life: Life = Life()


@dataclass(frozen=True, slots=True)
class Pace:
    """How a variety becomes ready and grows, as far as it is known.

    Attributes: ``log_days`` and its spread for a frag, with what is not known of the mean;
        ``ready`` frags of its own stand behind it; ``rate`` of log area a day with its
        spread, ``measured`` frags; log area at which frags are called ready, of which
        ``graded`` were measured; ``survival`` from cutting to the usual day.
    """

    log_days: float
    log_days_sd: float
    rate: float
    rate_sd: float
    ready_log_area: float
    ready_log_area_sd: float
    survival: float
    ready: int = 0
    measured: int = 0
    graded: int = 0

    @property
    def hazard(self) -> float:
        """Return the share of pieces that die a day."""
        return -math.log(max(self.survival, 1e-6)) / math.exp(self.log_days)


def supposed_days(group: str, least_days: int | None) -> Estimate:
    """Return the log days that are supposed of a variety before any of it is counted."""
    if least_days is not None:
        return estimate(math.log(least_days * USUAL_OVER_LEAST), WRITTEN_SD)
    return estimate(usual_for(group).log_days, math.hypot(GROUP_SD, VARIETY_SD))


def tell(history: History, *, day: date) -> Told:
    """Return what a variety's own history tells, as known at the end of a day."""
    seen = list(seen_on(history.spans, day=day))
    before = supposed_days(history.group, history.least_days)
    return Told(
        variety=history.variety,
        group=history.group,
        least_days=history.least_days,
        days=tell_days(seen, before=before),
        sizes=tell_sizes([one.until(day) for one in history.grown]),
        life=history.life,
    )


def paces_of(told: Iterable[Told]) -> dict[int, Pace]:
    """Return the pace of each variety, drawn towards its group and what was stated of it."""
    groups: dict[str, list[Told]] = defaultdict(list)
    for one in told:
        groups[one.group].append(one)
    return {
        variety: pace
        for group, members in groups.items()
        for variety, pace in paces_of_group(group, members).items()
    }


def paces_of_group(group: str, members: Sequence[Told]) -> dict[int, Pace]:
    """Return the paces of a group's varieties."""
    usual = usual_for(group)
    days = drawn_together(
        {one.variety: one.days.own for one in members},
        before=estimate(usual.log_days, GROUP_SD),
        spread=VARIETY_SD,
    )
    rates = drawn_together(
        {one.variety: one.sizes.rate for one in members},
        before=estimate(usual.rate, RATE_GROUP_SD),
        spread=RATE_VARIETY_SD,
    )
    hazards = hazards_of({one.variety: one.life for one in members})
    found = {}
    for one in members:
        mean = days[one.variety]
        if one.least_days is not None:
            mean = together(one.days.own, supposed_days(group, one.least_days))
        found[one.variety] = pace_of(one, mean, rates[one.variety], hazards[one.variety])
    return found


def pace_of(told: Told, days: Estimate, rate: Estimate, hazard: float) -> Pace:
    """Return the pace of a variety whose means are settled."""
    ready = together(told.sizes.ready, estimate(usual_for(told.group).ready_log_area, 2 * READY_SD))
    return Pace(
        log_days=days.mean,
        log_days_sd=math.hypot(told.days.spread.of_a_frag, days.sd),
        rate=rate.mean,
        rate_sd=math.hypot(told.sizes.spread, rate.sd),
        ready_log_area=ready.mean,
        ready_log_area_sd=math.hypot(told.sizes.ready_sd, ready.sd),
        survival=math.exp(-hazard * math.exp(days.mean)),
        ready=told.days.ready,
        measured=told.sizes.frags,
        graded=told.sizes.graded,
    )


def hazards_of(lives: Mapping[int, Life]) -> dict[int, float]:
    """Return the deaths a piece and day of each variety, drawn towards its group's.

    Deaths are counted as Poisson's; what was stated weighs as much as a few of them (gamma).
    """
    whole = hazard_with(
        Life(
            sum(life.deaths for life in lives.values()),
            sum(life.piece_days for life in lives.values()),
        ),
        before=hazard_before(),
    )
    return {key: hazard_with(life, before=whole) for key, life in lives.items()}


def hazard_with(life: Life, *, before: float) -> float:
    """Return deaths a piece and day from those counted and a hazard supposed before."""
    return (life.deaths + DEATHS_WORTH) / (life.piece_days + DEATHS_WORTH / before)


def supposed_pace(group: str, *, least_days: int | None = None) -> Pace:
    """Return the pace of a variety of which nothing has been counted yet."""
    return paces_of([Told(0, group, least_days)])[0]
