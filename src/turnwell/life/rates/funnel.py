"""Funnel limits: how far an office's count may lie from the target by chance alone.

References
----------
Exact limits, their interpolation for drawing, over-dispersion from winsorised z-values:
[SPIEGELHALTER2005].
"""

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.rates.observed import checked_counts
from turnwell.life.tails import tail_of

__all__ = ["Funnel", "FunnelLimits", "funnel", "poisson_quantile"]

# Share of the offices drawn in at either end before the over-dispersion is measured.
WINSORISED = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class FunnelLimits:
    """Limits of observed over expected at one level.

    Parameters
    ----------
    level : float
        Share of counts inside, were chance alone at work: 0.95 or 0.998.
    expected : array, shape (n,)
        Expected counts the limits stand at.
    low, high : array, shape (n,)
        Observed over expected, interpolated between whole counts so that they draw as one line,
        and widened by the over-dispersion.
    lowest, highest : array of int, shape (n,)
        Exact quantiles of the count, not widened: chance alone gives one below `lowest` or above
        `highest` in less than half of 1 - level each.
    """

    level: float
    expected: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    lowest: NDArray[np.int64]
    highest: NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Funnel:
    """Offices against a target, with what chance alone allows.

    Parameters
    ----------
    counts, expected : array, shape (n,)
        Observed and expected count of each office.
    target : float
        Ratio that all are held against.
    limits : tuple of FunnelLimits
        At the offices' own expected counts, one for each level, narrow to wide.
    dispersion : float
        Mean winsorised z²: below 1 where chance alone is at work (0.68 for large counts).
    is_over_dispersed : bool
        True where `dispersion` lies over 1 + 2 √(2/n); all limits are then widened by its root.
    """

    counts: NDArray[np.float64]
    expected: NDArray[np.float64]
    target: float
    limits: tuple[FunnelLimits, ...]
    dispersion: float
    is_over_dispersed: bool

    @property
    def ratio(self) -> NDArray[np.float64]:
        """Observed over expected count of each office, shape (n,)."""
        return self.counts / self.expected

    def limits_at(self, expected: ArrayLike) -> tuple[FunnelLimits, ...]:
        """Give the limits at other expected counts, to draw the lines by."""
        at = _expected(expected)
        widen = sqrt(self.dispersion) if self.is_over_dispersed else 1.0
        return tuple(_limits(at, self.target, each.level, widen) for each in self.limits)

    def is_above(self, level: float) -> NDArray[np.bool_]:
        """Tell which offices lie above the upper limits of a level; one of the funnel's own.

        A count at the exact quantile lies inside, though the line between whole counts may pass
        just below it.
        """
        for each in self.limits:
            if each.level == level:
                return (self.counts > each.highest) & (self.ratio > each.high)
        named = ", ".join(f"{each.level:g}" for each in self.limits)
        raise InputError(f"level is {level:g}; this funnel has {named}")


def funnel(
    counts: ArrayLike,
    expected: ArrayLike,
    *,
    target: float = 1.0,
    levels: tuple[float, ...] = (0.95, 0.998),
) -> Funnel:
    """Hold counts against expected counts, with exact Poisson limits.

    Parameters
    ----------
    counts : array of int, shape (n,)
        Returns of each office.
    expected : array, shape (n,)
        What the shop's rates would give for its handpieces, > 0.
    target : float
        Observed over expected of an office as it should be, > 0.
    levels : tuple of float
        Levels of the limits.

    Raises
    ------
    InputError
        If there is no office, shapes differ, or a number is out of range.

    Notes
    -----
    A funnel asks whether an office differs from the target at all; how large the difference is,
    and who is worst, is for `turnwell.life.shrink`.

    Examples
    --------
    >>> found = funnel([4, 12, 9, 21], [10.0, 10.0, 10.0, 10.0])
    >>> found.limits[0].lowest[0], found.limits[0].highest[0]
    (np.int64(4), np.int64(17))
    >>> found.limits[1].lowest[0], found.limits[1].highest[0]
    (np.int64(2), np.int64(21))
    """
    means = _expected(expected)
    seen = checked_counts(counts)
    if seen.shape != means.shape:
        raise InputError(f"counts has shape {seen.shape}, expected {means.shape}; give one each")
    if not 0.0 < target < inf:
        raise InputError(f"target is {target}, must be finite and > 0")
    if not levels:
        raise InputError("no level is given; give one at least")
    dispersion = _dispersion((seen - target * means) / np.sqrt(target * means))
    is_over = dispersion > 1.0 + 2.0 * sqrt(2.0 / seen.size)
    widen = sqrt(dispersion) if is_over else 1.0
    limits = tuple(_limits(means, target, level, widen) for level in sorted(levels))
    return Funnel(seen, means, float(target), limits, dispersion, is_over)


def _dispersion(z: NDArray[np.float64]) -> float:
    """Give the mean z² with both ends drawn in, so that a few odd offices do not set it."""
    low, high = np.quantile(z, [WINSORISED, 1.0 - WINSORISED])
    return float(np.mean(np.clip(z, low, high) ** 2))


def _limits(
    expected: NDArray[np.float64], target: float, level: float, widen: float
) -> FunnelLimits:
    tail = tail_of(level)
    mean = target * expected
    lowest, highest = poisson_quantile(tail, mean), poisson_quantile(1.0 - tail, mean)
    low = _interpolated(lowest, tail, mean) / expected
    high = _interpolated(highest, 1.0 - tail, mean) / expected
    return FunnelLimits(
        level,
        expected,
        np.maximum(target + widen * (low - target), 0.0),
        target + widen * (high - target),
        lowest,
        highest,
    )


def poisson_quantile(share: float, mean: ArrayLike) -> NDArray[np.int64]:
    """Give the smallest counts that a Poisson variable does not exceed with a given chance.

    Parameters
    ----------
    share : float
        Chance, between 0 and 1.
    mean : array
        Means, > 0.

    Examples
    --------
    >>> [int(poisson_quantile(share, 10.0)) for share in (0.001, 0.025, 0.975, 0.999)]
    [2, 4, 17, 21]
    """
    from scipy.special import pdtr, pdtrik

    means = np.asarray(mean, dtype=np.float64)
    # The inverse answers in reals and is undefined below the chance of no event; a step either way
    # makes it exact.
    near = np.nan_to_num(np.ceil(pdtrik(share, means)), nan=0.0)
    near = np.maximum(near, 0.0)
    near = np.where((near > 0.0) & (pdtr(near - 1.0, means) >= share), near - 1.0, near)
    near = np.where(pdtr(near, means) < share, near + 1.0, near)
    return np.asarray(near, dtype=np.int64)


def _interpolated(
    count: NDArray[np.int64], share: float, mean: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give where the share falls between two whole counts, [SPIEGELHALTER2005] appendix."""
    from scipy.special import pdtr

    at = pdtr(count, mean)
    below = np.where(count > 0, pdtr(np.maximum(count - 1, 0), mean), 0.0)
    return np.asarray(count - (at - share) / (at - below), dtype=np.float64)


def _expected(given: ArrayLike) -> NDArray[np.float64]:
    means = np.atleast_1d(np.asarray(given, dtype=np.float64))
    if means.ndim != 1 or means.size == 0:
        raise InputError("there is no office to hold against the target; give one at least")
    if np.any(~np.isfinite(means) | (means <= 0.0)):
        raise InputError("an expected count is not finite and > 0; leave out offices without risk")
    return means
