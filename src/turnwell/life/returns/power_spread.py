"""What each unit or office moves a power law by, and intervals made from that.

References
----------
[HUBER1967], [LIANG1986].
"""

from math import exp, log, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.life.estimate import Estimate
from turnwell.life.lives import Histories
from turnwell.life.returns.power_likelihood import PowerLikelihood
from turnwell.life.returns.power_region import Quantity, Region
from turnwell.life.tails import student_reach

__all__ = ["estimate_of", "reach_of", "spread_of"]

LEAST_CLUSTERS = 2


def spread_of(
    histories: Histories, likelihood: PowerLikelihood, shape: float, top: float
) -> NDArray[np.float64]:
    """Give what each office, or each unit, moves shape and ln(factor) by; shape (c, 2)."""
    cluster = histories.office if histories.offices > 1 else np.arange(histories.count)
    place = np.unique(cluster, return_inverse=True)[1]
    clusters = int(place.max()) + 1
    if clusters < LEAST_CLUSTERS:
        return np.zeros((0, 2))
    returns, factor = likelihood.returns, likelihood.returns / likelihood.watched(shape)
    counts = np.bincount(place[histories.unit], minlength=clusters)
    ages = np.bincount(place[histories.unit], np.log(histories.at / top), minlength=clusters)
    watched = np.bincount(place, likelihood.stop**shape - likelihood.start**shape)
    slopes = np.bincount(place, likelihood.slopes(shape))
    of_factor = counts - factor * watched
    mean_slope = factor * likelihood.watched_slope(shape) / returns
    of_shape = counts / shape + ages - factor * slopes - mean_slope * of_factor
    step = 1e-4 * shape
    bend = (likelihood.slope(shape - step) - likelihood.slope(shape + step)) / (2.0 * step)
    shape_moved = of_shape / bend
    factor_moved = of_factor / returns - (mean_slope + log(top)) * shape_moved
    return np.column_stack([shape_moved, factor_moved])


def reach_of(moved: NDArray[np.float64], level: float) -> float:
    """Give how far an interval reaches over clusters, from what each moves the estimate by."""
    clusters = moved.size
    variance = float(moved @ moved) * clusters / (clusters - 1.0)
    return student_reach(level, clusters - 1) * sqrt(variance)


def estimate_of(
    quantity: Quantity,
    shape: float,
    factor: float,
    *,
    region: Region,
    spread: NDArray[np.float64],
    level: float,
) -> Estimate:
    """Give exp(quantity), the wider of its intervals by the likelihood and over clusters."""

    def at(one: float, other: float) -> float:
        return float(quantity(np.array([one]), np.array([other]))[0])

    logarithm = log(factor)
    value = at(shape, logarithm)
    low, high = region.least(quantity), region.greatest(quantity)
    if spread.size:
        step = 1e-5 * shape
        by_shape = (at(shape + step, logarithm) - at(shape - step, logarithm)) / (2.0 * step)
        by_factor = at(shape, logarithm + 0.5) - at(shape, logarithm - 0.5)
        reach = reach_of(spread @ np.array([by_shape, by_factor]), level)
        low, high = min(low, value - reach), max(high, value + reach)
    return Estimate(exp(value), exp(min(low, value)), exp(max(high, value)), level)
