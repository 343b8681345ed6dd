"""How long the demo's frags take to be ready: by cutting and by frag, as corals differ."""

import math
from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta
from random import Random
from statistics import NormalDist
from typing import Final

# How far cuttings lie about the usual days of their variety, and frags about their cutting's:
# standard deviations of the logarithm. Common practice, no source.
CUTTINGS_APART: Final = 0.08
FRAGS_APART: Final = 0.2
CUTTING_CARDS, FRAG_CARDS = 12, 20
# Nobody grades what was cut this lately.
SOONEST_DAYS: Final = 20


class Deck:
    """Normal numbers, dealt so that each stretch of the curve comes as often as it should.

    With few frags plain chance would now and then show a house in which all is early.
    """

    def __init__(self, chance: Random, *, cards: int) -> None:
        self.chance = chance
        self.cards = cards
        self.left: list[float] = []

    def deal(self) -> float:
        """Return the next number; an empty deck is dealt anew."""
        if not self.left:
            strips = [(place + self.chance.random()) / self.cards for place in range(self.cards)]
            self.left = [NormalDist().inv_cdf(min(max(one, 1e-6), 1 - 1e-6)) for one in strips]
            self.chance.shuffle(self.left)
        return self.left.pop()


class Lives:
    """Deals the days on which frags of one cutting after the other will be ready.

    By a chance of its own, so that they are the same on whichever day the demo is built.
    """

    def __init__(self, chance: Random) -> None:
        self.cuttings = Deck(chance, cards=CUTTING_CARDS)
        self.frags = Deck(chance, cards=FRAG_CARDS)

    def days_ready(
        self, frag_ids: Iterable[int], *, cut_on: date, usual_days: int
    ) -> dict[date, list[int]]:
        """Return the frags of a cutting by the day on which each is ready."""
        middle = math.log(usual_days) + CUTTINGS_APART * self.cuttings.deal()
        found: dict[date, list[int]] = defaultdict(list)
        for frag_id in frag_ids:
            days = round(math.exp(middle + FRAGS_APART * self.frags.deal()))
            found[cut_on + timedelta(days=max(days, SOONEST_DAYS))].append(frag_id)
        return dict(found)
