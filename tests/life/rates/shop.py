"""Simulated shops for rates: offices and handpieces that differ by gamma laws of known spread."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, eq=False)
class Shop:
    """Handpieces with what they truly are.

    Parameters
    ----------
    office : array, shape (rows,)
    expected : array, shape (rows,)
        Expected count of a handpiece at the shop's rate.
    office_rate, handpiece_rate : array, shape (offices,), shape (rows,)
        True factors, 1 on average.
    """

    office: NDArray[np.intp]
    expected: NDArray[np.float64]
    office_rate: NDArray[np.float64]
    handpiece_rate: NDArray[np.float64]

    def returns(
        self, rng: np.random.Generator, *, share: float = 1.0, factor: float = 1.0
    ) -> NDArray[np.int64]:
        """Draw the counts of a window that is `share` of the whole, all rates times `factor`."""
        rate = self.office_rate[self.office] * self.handpiece_rate
        return rng.poisson(share * factor * rate * self.expected)

    def totals(self, values: NDArray[np.generic]) -> NDArray[np.float64]:
        return np.bincount(self.office, values, self.office_rate.size)


def draw(
    rng: np.random.Generator,
    *,
    offices: int,
    handpieces: tuple[int, int] = (5, 60),
    between_offices: float = 0.4,
    between_handpieces: float = 0.7,
    rate: float = 0.5,
) -> Shop:
    """Draw a shop; handpieces were watched between a fifth and the whole of the time."""
    size = rng.integers(handpieces[0], handpieces[1] + 1, offices)
    office = np.repeat(np.arange(offices), size)
    expected = rate * rng.uniform(0.2, 1.0, office.size)
    return Shop(
        office,
        expected,
        gamma(rng, between_offices, offices),
        gamma(rng, between_handpieces, office.size),
    )


def gamma(rng: np.random.Generator, spread: float, size: int) -> NDArray[np.float64]:
    """Draw factors of mean 1 and a stated standard deviation."""
    return np.ones(size) if spread == 0.0 else rng.gamma(spread**-2, spread**2, size)
