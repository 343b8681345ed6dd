"""Forecasts held against what came of them, each made half-way with what was known before."""

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median
from typing import Final

from fraginv.growth.rules.forecast import Forecast, Growing, forecast
from fraginv.growth.rules.pace import Cut, Span
from fraginv.growth.rules.paces import History, Pace, paces_of, tell
from fraginv.growth.rules.rates import Grown

# Paces are counted anew for the check once in so many days: houses of few varieties each
# week, others each month. A forecast then knows a little less than it might have.
WEEK: Final = 7
MONTH: Final = 28
FEW_VARIETIES: Final = 24
# A frag that was ready within days has no half-way.
LEAST_DAYS: Final = 4


@dataclass(frozen=True, slots=True)
class Outcome:
    """Frags that became ready on a day, and what was forecast of them half-way."""

    variety: int
    group: str
    cut_on: date
    ready_on: date
    told: Forecast
    frags: int = 1

    @property
    def is_inside(self) -> bool:
        """Tell whether they became ready within the interval, both its days counted."""
        return self.told.first <= self.ready_on <= self.told.last

    @property
    def error_days(self) -> int:
        """Return how many days later than the middle they were ready, below 0 for sooner."""
        return (self.ready_on - self.told.middle).days

    @property
    def error_percent(self) -> float:
        """Return the same in percent of the days from cutting to ready."""
        return 100 * self.error_days / max((self.ready_on - self.cut_on).days, 1)


@dataclass(frozen=True, slots=True)
class Score:
    """How well forecasts held: of how many frags, and the share inside, None for none.

    Attributes: the middle of the errors' sizes in days and percent; ``late`` is the middle
        error with its sign, above 0 where frags are ready later than forecast.
    """

    frags: int
    inside: float | None = None
    error_days: float | None = None
    error_percent: float | None = None
    late_days: float | None = None


def score(outcomes: Iterable[Outcome]) -> Score:
    """Return how well forecasts held, each frag counted once."""
    found = list(outcomes)
    frags = sum(one.frags for one in found)
    if not frags:
        return Score(0)
    each = [one for one in found for _ in range(one.frags)]
    return Score(
        frags=frags,
        inside=sum(one.is_inside for one in each) / frags,
        error_days=float(median(abs(one.error_days) for one in each)),
        error_percent=float(median(abs(one.error_percent) for one in each)),
        late_days=float(median(one.error_days for one in each)),
    )


class Checker:
    """Says what would have been forecast, from nothing but what was known at the time."""

    def __init__(
        self, histories: Sequence[History], *, ready_mm: Mapping[int, float | None]
    ) -> None:
        self.histories = histories
        self.ready_mm = ready_mm
        self.every = WEEK if len(histories) <= FEW_VARIETIES else MONTH
        self.known: dict[date, dict[int, Pace]] = {}

    def outcomes(self) -> Iterator[Outcome]:
        """Yield what became of each frag that became ready, cuttings of one day together."""
        for history in self.histories:
            measured = Counter[tuple[Cut, date, date]]()
            for one in history.grown:
                if one.ready_on is not None:
                    measured[one.cutting, one.cut_on, one.ready_on] += 1
                    yield from self.outcome(history, one.cut_on, one.ready_on, 1, grown=one)
            for (cutting, cut_on, ready_on), frags in became_ready(history.spans).items():
                rest = frags - measured[cutting, cut_on, ready_on]
                yield from self.outcome(history, cut_on, ready_on, rest)

    def outcome(
        self, history: History, cut_on: date, ready_on: date, frags: int, grown: Grown | None = None
    ) -> Iterator[Outcome]:
        """Yield what was forecast half-way, where there was one."""
        days = (ready_on - cut_on).days
        if frags < 1 or days < LEAST_DAYS:
            return
        moment = cut_on + timedelta(days=math.floor(days / 2))
        before = moment - timedelta(days=1)
        sizes = grown.until(before).sizes if grown is not None else ()
        growing = Growing(cut_on, sizes, self.ready_mm.get(history.variety))
        told = forecast(growing, pace=self.pace(history.variety, before), today=moment)
        if told is not None:
            yield Outcome(history.variety, history.group, cut_on, ready_on, told, frags)

    def pace(self, variety: int, day: date) -> Pace:
        """Return a variety's pace as last counted at the end of a day or before."""
        counted = date.fromordinal(day.toordinal() // self.every * self.every)
        if counted not in self.known:
            self.known[counted] = paces_of(tell(one, day=counted) for one in self.histories)
        return self.known[counted][variety]


def became_ready(spans: Iterable[Span]) -> dict[tuple[Cut, date, date], int]:
    """Count the frags that became ready by cutting, its day and theirs."""
    found: dict[tuple[Cut, date, date], int] = defaultdict(int)
    for span in spans:
        if span.ready_on is not None:
            found[span.cutting, span.cut_on, span.ready_on] += span.frags
    return dict(found)
