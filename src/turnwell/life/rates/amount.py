"""A positive amount that is not known exactly, as points of equal chance; products keep the mean.

Each point stands for an equal share of the chance and is the mean of that share, so that the mean
of an amount, and of a product of independent ones, is exact; its quantiles are as fine as the
points.
"""

from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.tails import tail_of

__all__ = ["Amount"]

# Points of an amount as it is given, and of a product.
GIVEN, MADE = 64, 256


@dataclass(frozen=True, slots=True, eq=False)
class Amount:
    """An amount, >= 0, with what is not known of it.

    Made by `of`, `gamma`, `beta` or `exactly`, and by `times`.

    Parameters
    ----------
    points : array, shape (n,)
        Equally likely, in rising order.
    """

    points: NDArray[np.float64]

    @classmethod
    def of(cls, values: ArrayLike, weights: ArrayLike, *, points: int = GIVEN) -> "Amount":
        """Take values with weights, in any order.

        >>> round(Amount.of([3.0, 1.0], [0.25, 0.75]).mean, 6)
        1.5
        """
        amounts = np.asarray(values, dtype=np.float64).ravel()
        chance = np.asarray(weights, dtype=np.float64).ravel()
        if amounts.size == 0 or amounts.shape != chance.shape:
            raise InputError(f"{amounts.size} values have {chance.size} weights; give one each")
        if np.any(~np.isfinite(amounts) | (amounts < 0.0)) or np.any(~(chance >= 0.0)):
            raise InputError("an amount must be finite and >= 0, its weight >= 0")
        if not 0.0 < chance.sum() < inf:
            raise InputError("the weights add up to nothing; one must be > 0")
        order = np.argsort(amounts, kind="stable")
        share = np.concatenate([[0.0], np.cumsum(chance[order])])
        # Integral of the quantile function: its differences are the means between equal shares.
        whole = np.concatenate([[0.0], np.cumsum(chance[order] * amounts[order])])
        edges = np.linspace(0.0, 1.0, points + 1)
        return cls(points * np.diff(np.interp(edges, share / share[-1], whole / share[-1])))

    @classmethod
    def exactly(cls, value: float) -> "Amount":
        """Take a value that is known; finite, >= 0."""
        return cls.of([value], [1.0], points=1)

    @classmethod
    def gamma(cls, mean: float, sd: float) -> "Amount":
        """Take a gamma distribution by its mean > 0 and standard deviation >= 0."""
        from scipy.special import gammainc, gammaincinv

        if not (0.0 < mean < inf and 0.0 <= sd < inf):
            raise InputError(f"mean is {mean} and sd {sd}; give a mean > 0 and an sd >= 0")
        if sd <= 1e-6 * mean:
            return cls.exactly(mean)
        shape = (mean / sd) ** 2
        edges = gammaincinv(shape, np.linspace(0.0, 1.0, GIVEN + 1))
        return cls(GIVEN * mean * np.diff(gammainc(shape + 1.0, edges)))

    @classmethod
    def beta(cls, alpha: float, beta: float) -> "Amount":
        """Take a share with a beta distribution; both parameters > 0."""
        from scipy.special import betainc, betaincinv

        if not (0.0 < alpha < inf and 0.0 < beta < inf):
            raise InputError(f"alpha is {alpha} and beta {beta}; both must be finite and > 0")
        edges = betaincinv(alpha, beta, np.linspace(0.0, 1.0, GIVEN + 1))
        mean = alpha / (alpha + beta)
        return cls(GIVEN * mean * np.diff(betainc(alpha + 1.0, beta, edges)))

    @property
    def mean(self) -> float:
        """Mean of the amount."""
        return float(self.points.mean())

    @property
    def variance(self) -> float:
        """Variance of the points, a little below the amount's."""
        return float(self.points.var())

    def times(self, other: "Amount") -> "Amount":
        """Give the product with an independent amount.

        >>> round(Amount.gamma(4.0, 2.0).times(Amount.beta(2.0, 6.0)).mean, 9)
        1.0
        """
        product = np.multiply.outer(self.points, other.points)
        if product.size <= MADE:
            return Amount(np.sort(product.ravel()))
        return Amount.of(product, np.ones(product.shape), points=MADE)

    def estimate(self, level: float = 0.95) -> Estimate:
        """Give the mean with the central credible interval."""
        middle = (np.arange(self.points.size) + 0.5) / self.points.size
        tail = tail_of(level)
        low, high = np.interp([tail, 1.0 - tail], middle, self.points)
        # A point that holds nearly the whole mean can lie beyond the upper tail.
        mean = self.mean
        return Estimate(mean, min(float(low), mean), max(float(high), mean), level)
