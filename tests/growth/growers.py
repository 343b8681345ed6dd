"""Growers that are simulated: cuttings whose frags become ready by chance, some measured."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from fraginv.growth.rules.growth import Known, Size
from fraginv.growth.rules.pace import Span
from fraginv.growth.rules.paces import History, Life
from fraginv.growth.rules.priors import usual_for
from fraginv.growth.rules.rates import Grown

LAST_DAY = date(2026, 11, 1)


@dataclass
class Growers:
    """A house of varieties of one or several groups, its days and growth drawn by chance.

    ``shift`` is how far a group's true days lie from what is stated of it, as a logarithm.
    """

    seed: int
    groups: Sequence[str] = ("SPS", "SPS", "LPS", "LPS", "zoanthid", "mushroom", "soft")
    cuttings: int = 12
    pieces: int = 6
    over_days: int = 900
    between: float = 0.12
    within: float = 0.15
    variety: float = 0.2
    shift: float = 0.0
    measured: float = 0.0
    sure: float = 0.03
    chance: np.random.Generator = field(init=False)

    def __post_init__(self) -> None:
        self.chance = np.random.default_rng(self.seed)

    def histories(self) -> list[History]:
        """Return what the house has seen by its last day."""
        return [self.history(number, group) for number, group in enumerate(self.groups)]

    def history(self, number: int, group: str) -> History:
        """Return what it has seen of one variety."""
        usual = usual_for(group)
        mean = self.chance.normal(usual.log_days + self.shift, self.variety)
        rate = max(0.004, self.chance.normal(usual.rate, 0.0015))
        spans: list[Span] = []
        grown: list[Grown] = []
        for place in range(self.cuttings):
            cut_on = LAST_DAY - timedelta(days=int(self.chance.integers(1, self.over_days)))
            middle = self.chance.normal(mean, self.between)
            for piece in range(self.pieces):
                days = math.exp(self.chance.normal(middle, self.within))
                key = (number * 1000 + place, cut_on)
                span = self.span(key, cut_on, cut_on + timedelta(days=max(2, round(days))))
                spans.append(span)
                if self.chance.random() < self.measured:
                    frag = len(grown) + 1 + piece
                    grown.append(self.grown(frag, span, days=days, rate=rate, group=group))
        return History(number, group, None, spans, grown, Life(0, 0))

    def span(self, key: tuple[int, date], cut_on: date, ready_on: date) -> Span:
        """Return what is known of a frag: ready, lost before, or growing still."""
        if self.chance.random() < 0.1:
            lost_on = cut_on + timedelta(days=int(self.chance.integers(1, 60)))
            if lost_on < min(ready_on, LAST_DAY):
                return Span(key, cut_on, None, lost_on, 1)
        return Span(key, cut_on, ready_on if ready_on <= LAST_DAY else None, None, 1)

    def grown(self, frag: int, span: Span, *, days: float, rate: float, group: str) -> Grown:
        """Return a frag measured about once a month until it is ready."""
        own = max(0.002, self.chance.normal(rate, 0.0015))
        at_end = self.chance.normal(usual_for(group).ready_log_area, 0.15)
        until = (span.ready_on or span.end_on or LAST_DAY) - span.cut_on
        sizes = []
        for day in range(12, until.days + 1, 25):
            true = at_end - own * (days - day)
            area = math.exp(true + self.chance.normal(0, math.hypot(self.sure, 0.05)))
            across = math.sqrt(area / (math.pi / 4 * 2 / 3))
            when = span.cut_on + timedelta(days=day)
            sizes.append(Size(when, Known(area, self.sure * area), Known(across, 0.5)))
        return Grown(frag, span.cutting, span.cut_on, span.ready_on, sizes)
