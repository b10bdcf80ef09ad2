"""Returns under warranty in the next months, and what they will cost.

Each handpiece under warranty fails within the rest of its cover, or the window if that ends sooner,
with a chance by its life and its age since the repair. Numbers and costs add up over handpieces,
and what is not known of the lives goes along as points.

References
----------
Prediction of a number of failures from a fitted life: [MEEKERESCOBAR1998], 12. The sum of unequal
chances as a binomial law of the same mean and variance: [EHM1991].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, inf, isfinite

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.least_count import least_count
from turnwell.life.tails import tail_of
from turnwell.life.weibull import WeibullGrid

__all__ = ["ReturnCost", "UnderWarranty", "WarrantyForecast", "warranty_forecast"]

# Points of what the lives leave open; handpieces by which they are put in order.
POINTS = 64
ORDERED_BY = 64
# Expected returns from which on the cost is near enough one gamma law.
MANY = 40.0


@dataclass(frozen=True, slots=True)
class ReturnCost:
    """What one return under warranty costs the shop.

    Parameters
    ----------
    mean : float
        >= 0, in the shop's money.
    sd : float
        Standard deviation from one return to the next.
    mean_sd : float
        Standard error of the mean.
    """

    mean: float
    sd: float = 0.0
    mean_sd: float = 0.0

    def __post_init__(self) -> None:
        numbers = (self.mean, self.sd, self.mean_sd)
        if not all(isfinite(number) and number >= 0.0 for number in numbers):
            raise InputError(f"a cost is {numbers}; mean and deviations must be finite and >= 0")


@dataclass(frozen=True, slots=True, eq=False)
class UnderWarranty:
    """Handpieces under warranty that share what is known of their lives.

    Parameters
    ----------
    age : array, shape (n,)
        Age since the repair, >= 0, in the clock of `life`.
    cover : array, shape (n,)
        How much longer the warranty lasts, >= 0, in the same clock.
    life : WeibullGrid
        Life after a repair.
    cost : ReturnCost
    """

    age: NDArray[np.float64]
    cover: NDArray[np.float64]
    life: WeibullGrid
    cost: ReturnCost

    @classmethod
    def of(
        cls, age: ArrayLike, cover: ArrayLike, life: WeibullGrid, *, cost: ReturnCost
    ) -> "UnderWarranty":
        """Take handpieces, checked.

        Raises
        ------
        InputError
            If there is none, shapes differ, or an age or cover is not finite and >= 0.
        """
        ages = np.atleast_1d(np.asarray(age, dtype=np.float64))
        covers = np.atleast_1d(np.asarray(cover, dtype=np.float64))
        if ages.ndim != 1 or ages.size == 0 or ages.shape != covers.shape:
            raise InputError(f"{ages.size} ages have {covers.size} covers; give one each")
        both = np.concatenate([ages, covers])
        if np.any(~np.isfinite(both) | (both < 0.0)):
            raise InputError("age and cover must be finite and >= 0")
        return cls(ages, covers, life, cost)


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """Sums over handpieces at equally likely points of what the lives leave open, shape (p,)."""

    mean: NDArray[np.float64]
    # Sum of squared chances: what the variance of the number lacks of its mean.
    lack: NDArray[np.float64]
    cost: NDArray[np.float64]
    cost_variance: NDArray[np.float64]

    def stacked(self) -> NDArray[np.float64]:
        return np.stack([self.mean, self.lack, self.cost, self.cost_variance])


@dataclass(frozen=True, slots=True, eq=False)
class WarrantyForecast:
    """Returns under warranty ahead.

    Parameters
    ----------
    returns : Estimate
        Expected number with the predictive interval; its ends are whole counts.
    cost : Estimate
        Expected cost with the predictive interval.
    """

    returns: Estimate
    cost: Estimate
    _points: _Points

    def at_most(self, count: int) -> float:
        """Give the chance of so many returns or fewer."""
        return _at_most(self._points, count)

    def reserve(self, share: float) -> float:
        """Give the money that suffices with a chance of `share`, between 0 and 1."""
        if not 0.0 < share < 1.0:
            raise InputError(f"share is {share}, must lie between 0 and 1")
        return _cost_quantile(self._points, share)


def warranty_forecast(
    groups: Sequence[UnderWarranty], *, horizon: float, level: float = 0.95
) -> WarrantyForecast:
    """Forecast the returns under warranty within a window ahead.

    Parameters
    ----------
    groups : sequence of UnderWarranty
        Handpieces grouped by what is known of their lives; groups are taken as independent.
    horizon : float
        Length of the window, > 0, in the clock of the lives.
    level : float
        Level of the predictive intervals.

    Raises
    ------
    InputError
        If there is no group, or a number is out of range.

    Notes
    -----
    Counts the first return of each handpiece within its cover; one repaired again under warranty
    and back within the same window counts once.

    Examples
    --------
    >>> from turnwell.life import Lives, weibull_grid
    >>> ages = 1000.0 * (-np.log(1.0 - (np.arange(60) + 0.5) / 60)) ** 0.5
    >>> life = weibull_grid(Lives.observed(ages, np.ones(60)))
    >>> group = UnderWarranty.of([0.0, 100.0], [180.0, 80.0], life, cost=ReturnCost(90.0, sd=30.0))
    >>> ahead = warranty_forecast([group], horizon=90.0)
    >>> print(f"{ahead.returns.value:.3f}", f"{ahead.cost.value:.2f}")
    0.032 2.89
    """
    if not groups:
        raise InputError("there is no handpiece under warranty; give one group at least")
    if not 0.0 < horizon < inf:
        raise InputError(f"horizon is {horizon}, must be finite and > 0")
    points = _points_of(groups[0], horizon)
    for group in groups[1:]:
        points = _together(points, _points_of(group, horizon))
    tail = tail_of(level)
    number, cost = float(points.mean.mean()), float(points.cost.mean())
    low, high = _count_quantile(points, tail), _count_quantile(points, 1.0 - tail)
    least, most = _cost_quantile(points, tail), _cost_quantile(points, 1.0 - tail)
    return WarrantyForecast(
        Estimate(number, min(low, floor(number)), max(high, ceil(number)), level),
        Estimate(cost, min(least, cost), max(most, cost), level),
        points,
    )


def _points_of(group: UnderWarranty, horizon: float) -> _Points:
    life = group.life
    window = np.minimum(group.cover, horizon)
    # A few handpieces put the points of shape and scale in order of what they expect; the sums are
    # then taken over all handpieces at points of equal chance.
    some = np.linspace(0, group.age.size - 1, min(group.age.size, ORDERED_BY)).astype(np.intp)
    expected = _chances(group.age[some], window[some], life.shape, life.scale).sum(axis=0)
    order = np.argsort(expected)
    below = np.cumsum(life.weight[order])
    shares = (np.arange(POINTS) + 0.5) / POINTS * below[-1]
    chosen = order[np.searchsorted(below, shares)]
    chance = _chances(group.age, window, life.shape[chosen], life.scale[chosen])
    mean, lack = chance.sum(axis=0), np.sum(chance**2, axis=0)
    cost = group.cost
    spent = mean * cost.sd**2 + (mean - lack) * cost.mean**2 + (mean * cost.mean_sd) ** 2
    return _Points(mean, lack, mean * cost.mean, spent)


def _chances(
    age: NDArray[np.float64],
    window: NDArray[np.float64],
    shape: NDArray[np.float64],
    scale: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give the chances of a failure within the window at each age, shape (n, points)."""
    spent = np.divide.outer(age, scale) ** shape
    ahead = np.divide.outer(age + window, scale) ** shape
    return np.asarray(-np.expm1(spent - ahead))


def _together(first: _Points, second: _Points) -> _Points:
    """Add two independent groups: every pair of points, put in order, drawn together again."""
    sums = first.stacked()[:, :, None] + second.stacked()[:, None, :]
    flat = sums.reshape(sums.shape[0], -1)
    ordered = flat[:, np.argsort(flat[2] if flat[2].any() else flat[0], kind="stable")]
    return _Points(*ordered.reshape(sums.shape[0], POINTS, -1).mean(axis=2))


def _at_most(points: _Points, count: int) -> float:
    """Give P(N <= count), on average over the points."""
    return float(_below(points, np.array([count])).mean())


def _below(points: _Points, counts: NDArray[np.int64]) -> NDArray[np.float64]:
    """Give P(N <= count) by the binomial law of each point's mean and variance, shape (p, k)."""
    from scipy.special import betainc

    mean = np.maximum(points.mean, 1e-300)[:, None]
    chance = np.clip(points.lack[:, None] / mean, 1e-12, 1.0 - 1e-12)
    trials = mean / chance
    inside = counts < trials
    rest = np.where(inside, trials - counts, 1.0)
    least = np.maximum(counts, 0) + 1.0
    below = np.where(inside, betainc(rest, least, 1.0 - chance), 1.0)
    return np.asarray(np.where(counts < 0, 0.0, below))


def _count_quantile(points: _Points, share: float) -> int:
    return least_count(lambda count: _at_most(points, count), share, near=float(points.mean.max()))


@dataclass(frozen=True, slots=True, eq=False)
class _CostParts:
    """Gamma laws of the cost, each with its chance; what is left of 1 costs nothing."""

    chance: NDArray[np.float64]
    mean: NDArray[np.float64]
    variance: NDArray[np.float64]


def _cost_parts(points: _Points) -> _CostParts:
    """Give the law of the cost: number by number where few are expected, as a whole where many."""
    mean = np.maximum(points.mean, 1e-300)
    if points.mean.max() > MANY:
        return _CostParts(np.ones(mean.size) / mean.size, points.cost, points.cost_variance)
    counts = np.arange(_count_quantile(points, 1.0 - 1e-7) + 1)
    chance = np.diff(_below(points, counts), axis=1) / mean.size
    each = (points.cost / mean)[:, None]
    # What is left of the variance when the number's own part is taken away, for one return.
    own = (points.cost_variance - (mean - points.lack) * each[:, 0] ** 2) / mean
    number = counts[1:].astype(np.float64)
    variance = number * np.maximum(own, 1e-9 * each[:, 0] ** 2)[:, None]
    return _CostParts(chance.ravel(), (number * each).ravel(), variance.ravel())


def _cost_quantile(points: _Points, share: float) -> float:
    from scipy.optimize import brentq
    from scipy.special import gammainc

    if not points.cost.any():
        return 0.0
    parts = _cost_parts(points)
    none = 1.0 - float(parts.chance.sum())
    if none >= share:
        return 0.0
    kept = parts.chance > 1e-12
    variance = np.maximum(parts.variance[kept], 1e-9 * parts.mean[kept] ** 2)
    shape, scale = parts.mean[kept] ** 2 / variance, variance / parts.mean[kept]

    def over(cost: float) -> float:
        return none + float(parts.chance[kept] @ gammainc(shape, cost / scale)) - share

    most = float(np.max(parts.mean[kept] + 10.0 * np.sqrt(variance)))
    if over(most) < 0.0:
        return most
    return float(brentq(over, 0.0, most, xtol=1e-6 * most))
