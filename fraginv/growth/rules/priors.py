"""What is usual for a group, as long as a house's own history does not tell better.

Days, growth and sizes: common practice of the trade, no source, unless one is named. They are
starting points, wide on purpose; a few dozen frags of one's own outweigh them.
"""

import math
from dataclasses import dataclass
from typing import Final

# From the least days after which a person looks at a frag to the day on which it usually is
# ready.
USUAL_OVER_LEAST: Final = 1.25
# How far the true mean of a group may lie from what is stated here, and varieties from their
# group, as standard deviations of the logarithm of days.
GROUP_SD: Final = 0.25
VARIETY_SD: Final = 0.25
# What somebody wrote down of a variety is closer to it than its group.
WRITTEN_SD: Final = 0.25
# Spread of cuttings about their variety's mean, and of frags about their cutting's.
BETWEEN_SD: Final = 0.12
WITHIN_SD: Final = 0.15
# How many cuttings and frags of one's own outweigh these two by half.
CUTTINGS_WORTH: Final = 5.0
FRAGS_WORTH: Final = 10.0
# Growth of the logarithm of area a day: group, variety, frag. SPS: published specific rates
# lie between 0.5 and 2.3 % a day (Acropora, Pocillopora, Montipora); others: no source.
RATE_GROUP_SD: Final = 0.003
RATE_VARIETY_SD: Final = 0.002
RATE_FRAG_SD: Final = 0.002
RATE_FRAGS_WORTH: Final = 6.0
# Logarithm of the area at which frags are called ready, within a variety.
READY_SD: Final = 0.3
READY_WORTH: Final = 4.0
# Restoration projects report 60 to 70 % alive after up to 18 months. Source: Boström-Einarsson
# et al. 2020, PLoS ONE 15(1):e0226631 (abstract). Taken as 65 % a year.
SURVIVE_A_YEAR: Final = 0.65
# So many deaths of one's own weigh as much as what was stated.
DEATHS_WORTH: Final = 3.0


@dataclass(frozen=True, slots=True)
class Usual:
    """What is usual for a group: days from cutting to ready, log growth of area a day,
    and how wide frags are across when they are ready, in mm."""

    days: float
    rate: float
    ready_mm: float

    @property
    def log_days(self) -> float:
        """Return the logarithm of the usual days."""
        return math.log(self.days)

    @property
    def ready_log_area(self) -> float:
        """Return the logarithm of the projected area, in mm², of a frag about that wide.

        A frag fills about two thirds of the circle around its largest diameter.
        """
        return log_area_of_width(self.ready_mm)


FILLS: Final = 2 / 3
USUAL: Final = {
    "SPS": Usual(90, 0.009, 30),
    "LPS": Usual(95, 0.007, 35),
    "soft": Usual(65, 0.011, 35),
    "zoanthid": Usual(60, 0.012, 22),
    "mushroom": Usual(55, 0.012, 28),
    "gorgonian": Usual(75, 0.009, 45),
    "anemone": Usual(75, 0.009, 50),
    "clam": Usual(400, 0.003, 50),
    "macroalga": Usual(30, 0.025, 60),
}
USUAL_OF_OTHERS: Final = Usual(70, 0.009, 30)


def usual_for(group: str) -> Usual:
    """Return what is usual for a group."""
    return USUAL.get(group, USUAL_OF_OTHERS)


def log_area_of_width(mm: float, *, fills: float = FILLS) -> float:
    """Return the logarithm of the projected area of a frag so wide across.

    Args: ``fills`` is the share of the circle around its largest diameter that it fills.
    """
    return math.log(fills * math.pi / 4 * mm * mm)


def hazard_before() -> float:
    """Return the deaths a piece and day that are supposed before any are counted."""
    return -math.log(SURVIVE_A_YEAR) / 365.25
