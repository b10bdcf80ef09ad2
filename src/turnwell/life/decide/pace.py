"""How many uses a unit of the clock holds, as far as it is known: a number normal in its log."""

from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.life.estimate import Estimate
from turnwell.life.tails import normal_reach

__all__ = ["pace_middle", "pace_spread", "pace_steps"]

# Slices of equal chance into which a pace is cut where it meets another.
_SLICES = 15


def pace_middle(pace: Estimate) -> float:
    """Give the median."""
    return sqrt(pace.low * pace.high)


def pace_spread(pace: Estimate) -> float:
    """Give the standard deviation of the log."""
    return log(pace.high / pace.low) / (2.0 * normal_reach(pace.level))


def pace_steps(pace: Estimate | None) -> NDArray[np.float64]:
    """Give values of equal chance that stand for a pace; 1 alone where there is none."""
    from scipy.special import ndtri

    if pace is None:
        return np.ones(1)
    steps = ndtri((np.arange(_SLICES) + 0.5) / _SLICES)
    # Middles of slices lie closer together than what they stand for.
    logs = pace_spread(pace) * steps / steps.std()
    return np.asarray(pace_middle(pace) * np.exp(logs), dtype=np.float64)
