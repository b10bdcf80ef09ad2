"""Quantiles of weighted values."""

from math import sqrt, tau

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.life.weibull.rooting import falling_root

__all__ = ["smeared_quantiles", "weighted_quantiles"]

# Stands in for 0, and its inverse for an infinite value, in logs.
_SMALLEST = 1e-290


def weighted_quantiles(
    values: NDArray[np.float64], weights: NDArray[np.float64], chances: ArrayLike
) -> NDArray[np.float64]:
    """Give the values below which the weights add up to given chances.

    Each value holds its weight half below and half above itself, and between values the share runs
    straight; where some are infinite it steps.

    Parameters
    ----------
    values : array, shape (n,)
        May be infinite.
    weights : array, shape (n,)
        >= 0, some above.
    chances : array, shape (k,)
        0 to 1.

    Examples
    --------
    >>> weighted_quantiles(np.array([3.0, 1.0, 2.0]), np.ones(3), [0.5]).tolist()
    [2.0]
    """
    order = np.argsort(values, kind="stable")
    ordered = values[order]
    # Equal values are one value; between them and the next the share would step.
    first = np.concatenate([[0], np.flatnonzero(ordered[1:] > ordered[:-1]) + 1])
    ordered, weight = ordered[first], np.add.reduceat(weights[order], first)
    share = np.cumsum(weight)
    share = (share - 0.5 * weight) / share[-1]
    wanted = np.asarray(chances, dtype=np.float64)
    if np.all(np.isfinite(ordered)):
        return np.asarray(np.interp(wanted, share, ordered), dtype=np.float64)
    place = np.minimum(np.searchsorted(share, wanted), ordered.size - 1)
    return np.asarray(ordered[place], dtype=np.float64)


def smeared_quantiles(
    values: NDArray[np.float64],
    weights: NDArray[np.float64],
    chances: ArrayLike,
    *,
    spread: float,
) -> NDArray[np.float64]:
    """Give the quantiles of weighted values times a factor that is normal in its log, median 1.

    Parameters
    ----------
    values, weights, chances
        As for `weighted_quantiles`; values >= 0.
    spread : float
        Standard deviation of the log of the factor, >= 0.

    Examples
    --------
    >>> smeared_quantiles(np.array([10.0]), np.ones(1), [0.5, 0.975], spread=0.5).round(3).tolist()
    [10.0, 26.644]
    """
    from scipy.special import ndtr

    if spread == 0.0:
        return weighted_quantiles(values, weights, chances)
    logs = np.log(np.clip(values, _SMALLEST, 1.0 / _SMALLEST))
    share = weights / weights.sum()
    starts = weighted_quantiles(logs, weights, chances)
    low, high = float(logs.min()) - 10.0 * spread, float(logs.max()) + 10.0 * spread

    def quantile(chance: float, start: float) -> float:
        def missing(place: float) -> tuple[float, float]:
            z = (place - logs) / spread
            density = float(share @ np.exp(-0.5 * z * z)) / (spread * sqrt(tau))
            return chance - float(share @ ndtr(z)), -density

        return falling_root(missing, start, low, high, tolerance=1e-8)

    wanted = np.asarray(chances, dtype=np.float64)
    return np.exp([quantile(float(c), float(s)) for c, s in zip(wanted, starts, strict=True)])
