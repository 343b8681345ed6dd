"""The tail of the normal distribution, for numbers and for arrays of them."""

import math
from statistics import NormalDist
from typing import Final

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

STANDARD: Final = NormalDist()
# An interval of 80 % leaves a tenth out at either end.
TENTH: Final = STANDARD.inv_cdf(0.9)
# Beyond this the tail is told by its expansion instead of by the error function.
FAR: Final = 25.0
LOW: Final = -9.0
STEP: Final = 0.002


def log_tail(z: float) -> float:
    """Return the logarithm of the probability to lie above z.

    Source: Abramowitz and Stegun, 26.2.12, for what lies far out (from memory).
    """
    if z < FAR:
        return math.log(math.erfc(z / math.sqrt(2)) / 2)
    return -z * z / 2 - math.log(z * math.sqrt(2 * math.pi)) + math.log1p(-1 / (z * z))


def mills(z: float) -> float:
    """Return by how much, in standard deviations, the mean of what lies above z exceeds 0."""
    return math.exp(-z * z / 2 - math.log(2 * math.pi) / 2 - log_tail(z))


GRID: Final = np.arange(LOW, FAR + 10, STEP)
LOG_TAIL: Final = np.array([log_tail(float(z)) for z in GRID])
MILLS: Final = np.array([mills(float(z)) for z in GRID])


def log_tails(z: Numbers) -> Numbers:
    """Return ``log_tail`` of each, to about a millionth; beyond 35 as at 35."""
    return np.asarray(np.interp(z, GRID, LOG_TAIL))


def mills_of(z: Numbers) -> Numbers:
    """Return ``mills`` of each, to about a millionth; beyond 35 as at 35."""
    return np.asarray(np.interp(z, GRID, MILLS))


def beyond(z: float, share: float) -> float:
    """Return where a share of what lies above z lies below: a quantile of the cut-off normal.

    Args: ``share`` above 0 and below 1.
    """
    if z < 5:
        tail = math.erfc(z / math.sqrt(2)) / 2 * (1 - share)
        # Where nearly all lies above z, the lower share is exacter than the upper.
        below = 1 - tail
        return -STANDARD.inv_cdf(tail) if tail < 0.5 else STANDARD.inv_cdf(below)
    # Far out the tail falls like an exponential: two steps of Newton make it exact enough.
    wanted = log_tail(z) + math.log1p(-share)
    found = z - math.log1p(-share) / z
    for _ in range(3):
        found += (log_tail(found) - wanted) / mills(found)
    return max(found, z)
