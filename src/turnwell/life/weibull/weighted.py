"""Quantiles of weighted values."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["weighted_quantiles"]


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
    ordered, weight = values[order], weights[order]
    share = np.cumsum(weight)
    share = (share - 0.5 * weight) / share[-1]
    wanted = np.asarray(chances, dtype=np.float64)
    if np.all(np.isfinite(ordered)):
        return np.asarray(np.interp(wanted, share, ordered), dtype=np.float64)
    place = np.minimum(np.searchsorted(share, wanted), ordered.size - 1)
    return np.asarray(ordered[place], dtype=np.float64)
