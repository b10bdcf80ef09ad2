"""Offices' rates of return, drawn toward their shop as far as chance explains them.

References
----------
Gamma-Poisson shrinkage of observed over expected: [CLAYTONKALDOR1987]; ranks: [LAIRDLOUIS1989].
"""

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.estimate import Estimate
from turnwell.life.rates.observed import (
    checked_counts,
    checked_expected,
    refuse_returns_without_risk,
)
from turnwell.life.rates.spread import (
    ShopSpread,
    concentration,
    gamma_on_grid,
    most_likely_spread,
    shop_spread,
    totals_of,
)
from turnwell.life.tails import tail_of

__all__ = ["GammaPrior", "Shrunken", "shrink"]


@dataclass(frozen=True, slots=True)
class GammaPrior:
    """What is known of a rate before its own counts, as a gamma distribution.

    Parameters
    ----------
    shape : float
        > 0, finite.
    rate : float
        > 0, finite; shape over rate is the mean.
    """

    shape: float
    rate: float

    def __post_init__(self) -> None:
        if not (0.0 < self.shape < inf and 0.0 < self.rate < inf):
            raise InputError(f"a gamma prior has shape {self.shape} and rate {self.rate}; both > 0")

    def after(self, count: float, exposure: float) -> "GammaPrior":
        """Give what is known after a count.

        >>> after = GammaPrior(3.0, 5.0).after(3, 2.0)
        >>> round(after.mean, 6), round(after.above(1.0), 6)
        (0.857143, 0.300708)
        """
        return GammaPrior(self.shape + count, self.rate + exposure)

    @property
    def mean(self) -> float:
        """Mean of the rate."""
        return self.shape / self.rate

    def above(self, limit: float) -> float:
        """Give the chance that the rate lies over `limit`."""
        from scipy.special import gammaincc

        return float(gammaincc(self.shape, self.rate * limit))

    def interval(self, level: float = 0.95) -> Estimate:
        """Give the mean and the central credible interval."""
        from scipy.special import gammaincinv

        tail = tail_of(level)
        low, high = (float(gammaincinv(self.shape, p)) / self.rate for p in (tail, 1.0 - tail))
        return Estimate(self.mean, low, high, level)


@dataclass(frozen=True, slots=True, eq=False)
class Shrunken:
    """Offices' rates over what the shop's own rates give for their handpieces.

    Parameters
    ----------
    counts, expected : array, shape (n,)
        Observed and expected count of each office.
    concentration : array, shape (n,)
        1 where one handpiece carries an office's whole risk, 1/m where m carry it alike.
    mean, low, high : array, shape (n,)
        Posterior mean and central credible interval: 1 as expected, 2 twice as many.
    level : float
        Level of the interval.
    rank : array, shape (n,)
        Expected rank, 1 for the highest rate.
    spread : ShopSpread
        The shop's level and spreads, with what is not known of them.
    prior_mean, prior_shape : float
        The most likely gamma distribution of the offices' rates; its shape is infinite where the
        counts show no difference between offices, which are then pooled.
    grid : array, shape (g,)
        Rates at which the posterior is held.
    chance : array, shape (n, g)
        Each office's posterior on the grid; rows add up to 1.
    """

    counts: NDArray[np.float64]
    expected: NDArray[np.float64]
    concentration: NDArray[np.float64]
    mean: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    level: float
    rank: NDArray[np.float64]
    spread: ShopSpread
    prior_mean: float
    prior_shape: float
    grid: NDArray[np.float64]
    chance: NDArray[np.float64]

    @property
    def is_pooled(self) -> bool:
        """True where the counts show no difference between offices."""
        return self.prior_shape == inf

    def office(self, number: int) -> Estimate:
        """Give one office's rate over expectation, with its credible interval."""
        return Estimate(
            float(self.mean[number]), float(self.low[number]), float(self.high[number]), self.level
        )

    def above(self, factor: float) -> NDArray[np.float64]:
        """Give each office's chance of a rate over `factor` times the expected, shape (n,)."""
        return np.asarray(
            1.0 - _at(np.log(factor), np.log(self.grid), self.chance), dtype=np.float64
        )


def shrink(
    counts: ArrayLike,
    expected: ArrayLike,
    *,
    office: ArrayLike | None = None,
    level: float = 0.95,
) -> Shrunken:
    """Shrink offices' counts toward their shop.

    Parameters
    ----------
    counts : array of int, shape (rows,)
        Returns of each handpiece in its window.
    expected : array, shape (rows,)
        What the shop's rates of its class give for as long, >= 0.
    office : array of int, shape (rows,)
        Number of the office each handpiece belongs to, 0 to n - 1. Without it each row is an
        office, and what its handpieces differ by counts as a difference between offices.
    level : float
        Level of the credible intervals.

    Raises
    ------
    CannotTellError
        If no handpiece came back: there is no rate to compare by.
    InputError
        If there is no row, shapes differ, a number is out of range, or returns meet no risk.

    Notes
    -----
    Rates of offices are gamma distributed around the shop's level, rates of an office's handpieces
    around the office's. Level and spreads are integrated over, so that the intervals hold with few
    offices. The level is free: it is 1 only where `expected` came from these very counts.

    Examples
    --------
    >>> found = shrink([12, 9, 11, 40], [10.0, 10.0, 10.0, 10.0])
    >>> print(f"{found.mean[3]:.1f}", f"{found.above(3.0)[3]:.2f}")
    3.7 0.89
    """
    rows, tail = _rows(counts, expected, office), tail_of(level)
    offices = int(rows.office.max()) + 1
    total = totals_of(rows.counts, rows.office, offices)
    risk = totals_of(rows.expected, rows.office, offices)
    if total.sum() == 0.0:
        raise CannotTellError("no handpiece came back yet; wait for the first return")
    spread = shop_spread(rows.counts, rows.expected, rows.office, offices)
    share = concentration(rows.expected, rows.office, offices)
    grid = _grid(total, risk, spread)
    chance = _posterior(total, risk, share, spread, grid)
    fitted = most_likely_spread(total, risk, spread.between_handpieces.value**2 * share)
    return Shrunken(
        total,
        risk,
        share,
        chance @ grid,
        _quantiles(tail, grid, chance),
        _quantiles(1.0 - tail, grid, chance),
        level,
        _ranks(chance),
        spread,
        float(spread.weight @ spread.level),
        fitted**-2.0 if fitted > 0.0 else inf,
        grid,
        chance,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Counts as they were given, checked."""

    counts: NDArray[np.float64]
    expected: NDArray[np.float64]
    office: NDArray[np.intp]


def _rows(counts: ArrayLike, expected: ArrayLike, office: ArrayLike | None) -> _Rows:
    seen, risk = checked_counts(counts), checked_expected(expected)
    if seen.ndim != 1 or seen.size == 0:
        raise InputError("there is no count to shrink; give one row at least")
    number = np.arange(seen.size) if office is None else np.asarray(office)
    if risk.shape != seen.shape or number.shape != seen.shape:
        raise InputError(
            f"counts has shape {seen.shape}, expected {risk.shape}, office {number.shape}; "
            "give one of each a row"
        )
    if number.dtype.kind not in "iu" or number.min() < 0:
        raise InputError("office must hold whole numbers >= 0")
    refuse_returns_without_risk(seen, risk)
    return _Rows(seen, risk, number.astype(np.intp))


def _grid(
    total: NDArray[np.float64], risk: NDArray[np.float64], spread: ShopSpread
) -> NDArray[np.float64]:
    """Give rates evenly spaced in their logarithm where offices lie, wider apart in the tails."""
    step = float(np.clip(1.0 / np.sqrt(1.0 + total.max()), 0.015, 0.03))
    middle = np.log(float(spread.weight @ spread.level))
    seen = np.log(np.divide(total, risk, out=np.ones_like(risk), where=total > 0.0))
    # A ratio far out stands on few returns unless the office has many: those stay in the fine part.
    many = seen[total > 20.0]
    low = min(middle - 2.5, many.min(initial=middle) - 1.0)
    high = max(middle + 2.0, many.max(initial=middle) + 1.0)
    stretch = step * 1.1 ** np.arange(1, 48)
    tail = np.cumsum(stretch)
    core = np.arange(low, high, step)
    nodes = [low - tail[::-1], core, core[-1] + tail[tail < 6.0]]
    return np.asarray(np.exp(np.concatenate(nodes)))


def _posterior(
    total: NDArray[np.float64],
    risk: NDArray[np.float64],
    share: NDArray[np.float64],
    spread: ShopSpread,
    grid: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give each office's posterior on the grid, what the spreads leave open integrated over."""
    found = np.zeros((total.size, grid.size))
    for handpiece in np.unique(spread.handpiece):
        rows = spread.handpiece == handpiece
        prior = gamma_on_grid(grid, spread.level[rows], spread.office[rows])
        likely = _likelihood(total, risk, handpiece**2 * share, grid)
        weight = spread.weight[rows] / (likely @ prior)
        found += likely * (weight @ prior.T)
    return np.asarray(found / found.sum(axis=1, keepdims=True))


def _likelihood(
    total: NDArray[np.float64],
    risk: NDArray[np.float64],
    variance: NDArray[np.float64],
    grid: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give the likelihood of each office's count over its rate, the largest 1, shape (n, g)."""
    mean = np.multiply.outer(risk, grid)
    if variance.any():
        shape = 1.0 / np.maximum(variance, 1e-12)[:, None]
        lost = (total[:, None] + shape) * np.log1p(mean / shape)
    else:
        lost = mean
    log_chance = np.multiply.outer(total, np.log(grid)) - lost
    return np.asarray(np.exp(log_chance - log_chance.max(axis=1, keepdims=True)))


def _below(chance: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.cumsum(chance, axis=1) - chance / 2.0)


def _quantiles(
    share: float, grid: NDArray[np.float64], chance: NDArray[np.float64]
) -> NDArray[np.float64]:
    log_grid = np.log(grid)
    found = [np.interp(share, row, log_grid) for row in _below(chance)]
    return np.asarray(np.exp(found), dtype=np.float64)


def _at(
    log_rate: float, log_grid: NDArray[np.float64], chance: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give each office's chance of a rate at most this, shape (n,)."""
    return np.array(
        [np.interp(log_rate, log_grid, row, left=0.0, right=1.0) for row in _below(chance)]
    )


def _ranks(chance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give 1 + the expected number of other offices with a higher rate."""
    higher = np.sum(1.0 - _below(chance), axis=0)
    # Against itself an office is higher half the time; that half is no other office.
    return np.asarray(0.5 + chance @ higher, dtype=np.float64)
