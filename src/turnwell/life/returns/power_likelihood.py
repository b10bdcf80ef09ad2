"""How likely returns are under a power law, as a function of its shape.

Returns of a unit come at rate ``factor * shape * age**(shape - 1)``. For a given shape the best
factor is known, so that the likelihood needs one number only.

References
----------
[CROW1974]; for units first seen at an age, and for grouped counts, the same likelihood over the
ages watched.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["PowerLikelihood"]


@dataclass(frozen=True, slots=True, eq=False)
class PowerLikelihood:
    """Likelihood of the shape; ages as shares of the greatest stop, so that no power overflows.

    Parameters
    ----------
    start, stop : array, shape (k,)
        Ages between which each unit was watched.
    exact : int
        How many returns have a known age.
    logarithms : float
        Sum of the logarithms of these ages.
    low, high, counts : array, shape (g,)
        Spans of age in which the other returns lie, and how many in each.
    """

    start: NDArray[np.float64]
    stop: NDArray[np.float64]
    exact: int
    logarithms: float
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    counts: NDArray[np.float64]

    @property
    def returns(self) -> float:
        """How many returns there are."""
        return self.exact + float(self.counts.sum())

    def watched(self, shape: float) -> float:
        """Give the expected returns of all units together at factor 1."""
        return float(np.sum(self.stop**shape - self.start**shape))

    def watched_slope(self, shape: float) -> float:
        """Give the derivative of `watched` by the shape."""
        return float(np.sum(self.slopes(shape)))

    def slopes(self, shape: float) -> NDArray[np.float64]:
        """Give what each unit has of `watched_slope`, shape (k,)."""
        return _slope(self.stop, shape) - _slope(self.start, shape)

    def value(self, shape: float) -> float:
        """Give the log-likelihood at the best factor for a shape, less a constant."""
        parts = self.exact * np.log(shape) + (shape - 1.0) * self.logarithms
        if self.counts.size:
            spans = self.high**shape - self.low**shape
            parts += float(self.counts @ np.log(spans))
        return float(parts - self.returns * np.log(self.watched(shape)))

    def slope(self, shape: float) -> float:
        """Give the derivative of `value`; it falls as the shape rises."""
        own = self.exact / shape + self.logarithms
        if self.counts.size:
            spans = self.high**shape - self.low**shape
            rises = _slope(self.high, shape) - _slope(self.low, shape)
            own += float(self.counts @ (rises / spans))
        return own - self.returns * self.watched_slope(shape) / self.watched(shape)


def _slope(age: NDArray[np.float64], shape: float) -> NDArray[np.float64]:
    """Give the derivative of age ** shape by the shape; 0 at age 0."""
    is_late = age > 0.0
    late = np.where(is_late, age, 1.0)
    return np.where(is_late, late**shape * np.log(late), 0.0)
