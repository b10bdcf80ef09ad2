"""Counts the steps in which a recorder wrote the loudest part of a recording."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["coarse_steps"]

_LONGEST = 16_384
_FEW = 48


def coarse_steps(samples: NDArray[np.float32]) -> int | None:
    """Give how many values the loudest stretch is made of, None where they are many.

    Parameters
    ----------
    samples : array, shape (n,)

    Returns
    -------
    int or None
        At most 48 values that lie on even steps; a tone that repeats itself has few values as
        well, but not on even steps.

    Examples
    --------
    >>> coarse_steps(np.sign(np.cos(0.7 * np.arange(4_800))).astype(np.float32))
    2
    >>> coarse_steps(np.sin(0.7 * np.arange(4_800)).astype(np.float32)) is None
    True
    """
    if samples.size == 0:
        return None
    at = _loudest(samples)
    first = max(at - _LONGEST // 2, 0)
    values = np.unique(samples[first : first + _LONGEST]).astype(np.float64)
    if not 2 <= values.size <= _FEW:
        return None
    gaps = np.diff(values) / np.diff(values).min()
    return values.size if np.abs(gaps - np.rint(gaps)).max() < 0.01 else None


def _loudest(samples: NDArray[np.float32]) -> int:
    """Place of the first of the largest samples, found without a copy of them all."""
    high, low = int(np.argmax(samples)), int(np.argmin(samples))
    if samples[high] == -samples[low]:
        return min(high, low)
    return high if samples[high] > -samples[low] else low
