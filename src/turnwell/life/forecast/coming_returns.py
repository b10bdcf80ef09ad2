"""How many handpieces come back in the next months, office by office and in the whole shop.

References
----------
A Poisson count whose rate is gamma distributed after its own history: [GREENWOODYULE1920].
"""

from dataclasses import dataclass
from math import inf, isfinite, log

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.estimate import Estimate
from turnwell.life.rates.observed import checked_expected
from turnwell.life.rates.predictive import Predictive, negative_binomial_cdf
from turnwell.life.rates.shrinkage import Shrunken
from turnwell.life.tails import normal_reach, tail_of

__all__ = ["ComingReturns", "coming_from_growth", "coming_returns"]


@dataclass(frozen=True, slots=True, eq=False)
class ComingReturns:
    """Returns of a window ahead.

    Parameters
    ----------
    mean : array, shape (n,)
        Expected returns of each office.
    low, high : array of int, shape (n,)
        Predictive interval of each office: whole counts, each end leaving out at most half of
        1 - level.
    level : float
        Level of the intervals.
    shop : Predictive
        Distribution of the returns of all offices together.
    """

    mean: NDArray[np.float64]
    low: NDArray[np.int64]
    high: NDArray[np.int64]
    level: float
    shop: Predictive

    def office(self, number: int) -> Estimate:
        """Give one office's expected returns with the predictive interval."""
        mean = float(self.mean[number])
        low, high = float(self.low[number]), float(self.high[number])
        return Estimate(mean, min(low, mean), max(high, mean), self.level)

    @property
    def all_offices(self) -> Estimate:
        """Expected returns of the whole shop with the predictive interval."""
        return self.shop.interval(self.level)


def coming_returns(
    shrunken: Shrunken, expected: ArrayLike, *, level: float = 0.95
) -> ComingReturns:
    """Forecast the returns of a window ahead.

    Parameters
    ----------
    shrunken : Shrunken
        The offices' history.
    expected : array, shape (n,)
        What the shop's rates give for each office's handpieces in the window ahead, >= 0.
    level : float
        Level of the predictive intervals.

    Raises
    ------
    InputError
        If shapes differ, a number is out of range, or nothing is at risk.

    Notes
    -----
    Offices keep their handpieces, and both keep their rates. Where rates grow, use
    `coming_from_growth`.

    Examples
    --------
    >>> from turnwell.life import shrink
    >>> history = shrink([12, 9, 11, 40], [10.0, 10.0, 10.0, 10.0])
    >>> ahead = coming_returns(history, [2.5, 2.5, 2.5, 2.5])
    >>> office = ahead.office(3)
    >>> print(f"{office.value:.1f} ({office.low:.0f} to {office.high:.0f})")
    9.3 (3 to 17)
    """
    risk = checked_expected(expected)
    if risk.shape != shrunken.counts.shape:
        raise InputError(f"expected has shape {risk.shape} for {shrunken.counts.size} offices")
    if not risk.any():
        raise InputError("nothing is at risk ahead; give expected counts >= 0, one > 0 at least")
    spread = shrunken.spread
    own = 1.0 / np.maximum(spread.variance_of(shrunken.concentration), 1e-8)
    shape = own + shrunken.counts
    rate = shape / (own / spread.level[:, None] + shrunken.expected)
    # Each office's rate over all points of the spreads, as one gamma of its mean and variance.
    mean = spread.weight @ rate
    variance = spread.weight @ (rate**2 / shape + (rate - mean) ** 2)
    counts = (risk * mean, mean**2 / variance)
    ahead = rate * risk
    shop_mean = ahead.sum(axis=1)
    shop_extra = np.sum(ahead**2 / shape, axis=1)
    tail = tail_of(level)
    return ComingReturns(
        counts[0],
        _quantiles(tail, *counts),
        _quantiles(1.0 - tail, *counts),
        level,
        Predictive(shop_mean, shop_mean**2 / shop_extra, spread.weight),
    )


def _quantiles(
    share: float, mean: NDArray[np.float64], shape: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Give the smallest counts not exceeded with this chance, by bisection, shape of `mean`."""
    low = np.full(mean.shape, -1, dtype=np.int64)
    width = 10.0 * np.sqrt(mean + mean**2 / shape)
    high = np.ceil(mean + width + 10.0).astype(np.int64)
    while np.any(short := negative_binomial_cdf(high, mean, shape) < share):
        high = np.where(short, 2 * high, high)
    while np.any(high - low > 1):
        # Rounded up, so that where an office is done its upper end is asked again, and stays.
        middle = (low + high + 1) // 2
        enough = negative_binomial_cdf(middle, mean, shape) >= share
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return high


def coming_from_growth(expected: Estimate) -> Predictive:
    """Forecast a count from an expected number that is an estimate itself.

    Parameters
    ----------
    expected : Estimate
        Expected returns between two ages, as a power law gives them; its interval is taken as that
        of a quantity whose logarithm is about normal.

    Raises
    ------
    CannotTellError
        If an end of the interval is open or 0: nothing then says how far the count may go.

    Examples
    --------
    >>> ahead = coming_from_growth(Estimate(20.0, 14.0, 28.6))
    >>> print(ahead.interval())
    20 (10 to 32)
    """
    if not (expected.low > 0.0 and isfinite(expected.high)):
        raise CannotTellError(
            f"the expected number is {expected}, open at one end; more returns would close it"
        )
    log_sd = log(expected.high / expected.low) / (2.0 * normal_reach(expected.level))
    relative = float(np.expm1(log_sd**2))
    shape = 1.0 / relative if relative > 0.0 else inf
    return Predictive(np.array([expected.value]), np.array([shape]), np.ones(1))
