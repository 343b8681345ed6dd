"""Names of sums that are kept, and adding to them."""

from collections import Counter
from collections.abc import Mapping
from typing import Final

# A sum for each month, as 202611, and name; month 0 is for what stands now.
Tallies = Counter[tuple[int, str]]
NOW: Final = 0
STROKE: Final = "/"


def tally_name(*parts: str) -> str:
    """Return the name of a sum by what it is of: ``sold/counter/SPS/net``."""
    return STROKE.join(parts)


def tallies_under(part: str, kept: Mapping[str, int]) -> dict[tuple[str, ...], int]:
    """Return the sums whose names begin with a part, by the other parts of their names."""
    return {
        tuple(parts[1:]): amount
        for name, amount in kept.items()
        for parts in [name.split(STROKE)]
        if parts[0] == part
    }
