"""Parts to hold: the smallest stock that meets a target, and the back-orders it leaves.

References
----------
Stock against Poisson demand over the lead time, expected back-orders: [SHERBROOKE2004].
"""

from dataclasses import dataclass
from math import inf

import numpy as np

from turnwell.errors import InputError
from turnwell.life.least_count import least_count
from turnwell.life.rates.predictive import negative_binomial_cdf

__all__ = ["Demand", "StockLevel", "expected_back_orders", "stock_level"]


@dataclass(frozen=True, slots=True)
class Demand:
    """Parts asked for within one lead time.

    Parameters
    ----------
    mean : float
        > 0.
    shape : float
        Infinite for a Poisson count of known mean; finite where the mean is a gamma distribution of
        this shape, which makes the count negative binomial.
    """

    mean: float
    shape: float = inf

    def __post_init__(self) -> None:
        if not (0.0 < self.mean < inf and self.shape > 0.0):
            raise InputError(f"a demand has mean {self.mean} and shape {self.shape}; both > 0")

    @classmethod
    def from_use(cls, used: int, months: float, lead_months: float) -> "Demand":
        """Take the demand from what was used; what a short record leaves open stays in.

        Parameters
        ----------
        used : int
            Parts used, >= 0.
        months, lead_months : float
            In how long, and how long a new one takes to come, > 0.

        Examples
        --------
        >>> Demand.from_use(24, 12.0, 2.0).mean
        4.083333333333333
        """
        if used < 0 or not (0.0 < months < inf and 0.0 < lead_months < inf):
            raise InputError(
                f"{used} parts in {months} months, lead {lead_months} months; give >= 0 and > 0"
            )
        # Half a part more: the weakest prior of a Poisson rate that does not lean either way.
        shape = used + 0.5
        return cls(shape / months * lead_months, shape)

    def at_most(self, count: int) -> float:
        """Give the chance that no more than this are asked for."""
        return float(negative_binomial_cdf(count, self.mean, self.shape)) if count >= 0 else 0.0


@dataclass(frozen=True, slots=True)
class StockLevel:
    """A stock and what it meets.

    Parameters
    ----------
    parts : int
        Stock and open orders together after ordering.
    met : float
        Chance that a lead time's demand is met.
    back_orders : float
        Parts owed on average.
    """

    parts: int
    met: float
    back_orders: float


def stock_level(demand: Demand, *, target: float = 0.95) -> StockLevel:
    """Give the smallest stock that meets a lead time's demand with a chance of at least `target`.

    Raises
    ------
    InputError
        If the target does not lie between 0 and 1, or asks for more than ten million parts.

    Examples
    --------
    >>> stock_level(Demand(4.0)).parts
    8
    """
    if not 0.0 < target < 1.0:
        raise InputError(f"target is {target}, must lie between 0 and 1")
    parts = least_count(demand.at_most, target, near=demand.mean)
    return StockLevel(parts, demand.at_most(parts), expected_back_orders(parts, demand))


def expected_back_orders(parts: int, demand: Demand) -> float:
    """Give how many parts are owed on average with a stock of so many.

    Examples
    --------
    >>> [round(expected_back_orders(parts, Demand(1.0)), 6) for parts in range(3)]
    [1.0, 0.367879, 0.103638]
    """
    if parts < 0:
        raise InputError(f"parts is {parts}, must be >= 0")
    # Sum of x p(x) over x > S is the mean times the chance that one event more would exceed S; for
    # the negative binomial that is the law of shape + 1 at the same odds.
    grown = demand.mean * (1.0 + 1.0 / demand.shape)
    taken = 1.0 - negative_binomial_cdf(parts - 1, grown, demand.shape + 1.0) if parts else 1.0
    owed = demand.mean * taken - parts * (1.0 - demand.at_most(parts))
    return max(0.0, float(np.asarray(owed)))
