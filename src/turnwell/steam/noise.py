"""How much a sample of a logged curve scatters, told from the curve itself."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["digit_of", "sample_noise"]

# With fewer samples the scatter is taken as this.
UNKNOWN = 0.5
FEWEST = 8


def digit_of(values: NDArray[np.float64]) -> float:
    """Give the smallest step between neighbouring samples: the last digit, 0 where none is seen.

    >>> round(digit_of(np.array([20.1, 20.3, 20.3, 20.2])), 6)
    0.1
    """
    there = values[np.isfinite(values)]
    steps = np.abs(np.diff(there))
    steps = steps[steps > 1e-9]
    return float(np.min(steps)) if steps.size else 0.0


def sample_noise(values: NDArray[np.float64], most: float) -> float:
    """Estimate the standard deviation of a sample from second differences, by their quarter.

    The quarter: of a coarse record only the plateau and the drying are smooth. A normal size is
    below 0.3186 standard deviations in a quarter of cases; √6 turns the deviation of a second
    difference into that of a sample. It is at least what the last digit leaves open.

    Parameters
    ----------
    values : array, shape (n,)
        NaN where a row has none.
    most : float
        No sensor is noisier; where more is seen, the run moves faster than it was sampled.
    """
    there = values[np.isfinite(values)]
    if there.size < FEWEST:
        return UNKNOWN
    bends = np.abs(np.diff(there, 2))
    spread = float(np.quantile(bends, 0.25)) / (0.3186 * 6.0**0.5)
    return float(min(max(spread, min(digit_of(there), 1.0) / 12.0**0.5), most))
