"""What a later count may be: a mixture of negative binomials, one for each way the shop may be.

A Poisson count whose rate is known as a gamma distribution is negative binomial; where the gamma's
own parameters are uncertain, it is a mixture of them [GREENWOODYULE1920].
"""

from dataclasses import dataclass
from math import ceil, floor

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.life.estimate import Estimate
from turnwell.life.least_count import least_count
from turnwell.life.tails import tail_of

__all__ = ["Predictive", "log_negative_binomial", "negative_binomial_cdf"]

# A shape beyond this is a Poisson count for every purpose here, and the beta function still holds.
MOST_SHAPE = 1e8


@dataclass(frozen=True, slots=True, eq=False)
class Predictive:
    """Distribution of a count.

    Parameters
    ----------
    mean : array, shape (n,)
        Mean of each part, >= 0.
    shape : array, shape (n,)
        Shape of each part, > 0: variance = mean + mean² / shape; infinite for a Poisson count.
    weight : array, shape (n,)
        Weights that add up to 1.
    """

    mean: NDArray[np.float64]
    shape: NDArray[np.float64]
    weight: NDArray[np.float64]

    @property
    def expected(self) -> float:
        """Mean of the count."""
        return float(self.weight @ self.mean)

    @property
    def variance(self) -> float:
        """Variance of the count."""
        within = self.weight @ (self.mean + self.mean**2 / self.shape)
        return float(within + self.weight @ (self.mean - self.expected) ** 2)

    def at_most(self, count: float, *, factor: float = 1.0) -> float:
        """Give the chance of `count` or fewer, all rates multiplied by `factor` >= 0."""
        if count < 0:
            return 0.0
        return float(self.weight @ negative_binomial_cdf(count, factor * self.mean, self.shape))

    def at_least(self, count: float, *, factor: float = 1.0) -> float:
        """Give the chance of `count` or more, all rates multiplied by `factor` >= 0."""
        from scipy.special import betainc

        if count <= 0:
            return 1.0
        shape = np.minimum(self.shape, MOST_SHAPE)
        mean = factor * self.mean
        return float(self.weight @ betainc(count, shape, mean / (shape + mean)))

    def exactly(self, count: int, *, factor: ArrayLike = 1.0) -> NDArray[np.float64]:
        """Give the chance of `count` for each of several factors, shape of `factor`."""
        mean = np.multiply.outer(np.asarray(factor, dtype=np.float64), self.mean)
        chance = np.exp(log_negative_binomial(float(count), mean, 1.0 / self.shape))
        return np.asarray(chance @ self.weight, dtype=np.float64)

    def quantile(self, share: float) -> int:
        """Give the smallest count that is not exceeded with chance `share`, 0 < share < 1."""
        return least_count(self.at_most, share, near=self.expected)

    def interval(self, level: float = 0.95) -> Estimate:
        """Give the mean with the predictive interval; the ends are whole counts.

        Each end leaves out at most half of 1 - level, and the interval holds the mean even where
        nearly always nothing happens.
        """
        tail = tail_of(level)
        mean = self.expected
        low = min(self.quantile(tail), floor(mean))
        return Estimate(mean, low, max(self.quantile(1.0 - tail), ceil(mean)), level)


def negative_binomial_cdf(
    count: ArrayLike, mean: ArrayLike, shape: ArrayLike
) -> NDArray[np.float64]:
    """Give P(N <= count); arrays are broadcast.

    Examples
    --------
    >>> float(np.round(negative_binomial_cdf(1, 2.0, 1.0), 6))
    0.555556
    """
    from scipy.special import betainc

    bounded = np.minimum(shape, MOST_SHAPE)
    chance = betainc(bounded, np.asarray(count) + 1.0, bounded / (bounded + np.asarray(mean)))
    return np.asarray(chance, dtype=np.float64)


def log_negative_binomial(
    count: ArrayLike, mean: ArrayLike, relative_variance: ArrayLike
) -> NDArray[np.float64]:
    """Give ln P(N = count) of a Poisson count whose rate varies; arrays are broadcast.

    Parameters
    ----------
    count : array
        Counts, >= 0.
    mean : array
        Means, >= 0.
    relative_variance : array
        Variance of the rate over its squared mean, >= 0; 0 gives the Poisson law.
    """
    from scipy.special import gammaln, xlogy

    shape = np.minimum(1.0 / np.maximum(relative_variance, 1.0 / MOST_SHAPE), MOST_SHAPE)
    seen, mu = np.asarray(count, dtype=np.float64), np.asarray(mean, dtype=np.float64)
    grown = gammaln(seen + shape) - gammaln(shape) - seen * np.log(shape)
    value = grown - gammaln(seen + 1.0) + xlogy(seen, mu) - (seen + shape) * np.log1p(mu / shape)
    return np.asarray(value, dtype=np.float64)
