"""The shapes and factors of a power law that the likelihood does not deny.

The ends of an interval by profile likelihood are the least and the greatest value that a quantity
takes in this region. Its edge is laid down once, as two factors for each of some shapes, and serves
every quantity.

References
----------
Profile likelihood as extremes over a likelihood region: [MEEKERESCOBAR1998], 8.3.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from turnwell.life.returns.power_likelihood import PowerLikelihood

__all__ = ["Quantity", "Region", "region_of"]

# The logarithm of a quantity, from shapes and logarithms of factors of the same length.
Quantity = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]

# Shapes at which the edge is laid down. They crowd at both ends, as the edge closes there like a
# square root; in the angle it is smooth, and a parabola through three of them finds an extreme.
EDGES = 65

# Stands for a least shape of 0, at which the factor is not defined.
SMALLEST = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Region:
    """Edge of the region: at each shape the least and the greatest factor.

    Parameters
    ----------
    shape : array, shape (e,)
        From the least to the greatest shape.
    low, high : array, shape (e,)
        Logarithms of the factors.
    """

    shape: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    def least(self, quantity: Quantity) -> float:
        """Give the least value of the logarithm of a quantity."""
        return -self.greatest(lambda shape, factor: -quantity(shape, factor))

    def greatest(self, quantity: Quantity) -> float:
        """Give the greatest value of the logarithm of a quantity."""
        return max(_peak(quantity(self.shape, self.low)), _peak(quantity(self.shape, self.high)))


def region_of(
    likelihood: PowerLikelihood, *, best: float, ends: tuple[float, float], cut: float, top: float
) -> Region:
    """Lay down the edge of the region.

    Parameters
    ----------
    likelihood : PowerLikelihood
    best : float
        Shape of greatest likelihood.
    ends : tuple of float
        Least and greatest shape of the region.
    cut : float
        How far the log-likelihood may lie below its greatest value.
    top : float
        Age by which the likelihood's ages were divided.
    """
    angle = np.linspace(0.0, np.pi, EDGES)
    least = max(ends[0], SMALLEST)
    middle, half = log(least * ends[1]) / 2.0, log(ends[1] / least) / 2.0
    shape = np.exp(middle - half * np.cos(angle))
    lost = likelihood.value(best) - np.array([likelihood.value(one) for one in shape])
    watched = np.array([likelihood.watched(one) for one in shape])
    factor = np.log(likelihood.returns / watched) - shape * log(top)
    down, up = _factors(np.maximum(cut - lost, 0.0) / likelihood.returns)
    return Region(shape, factor + down, factor + up)


def _factors(left: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the logarithms of both roots r of r - 1 - ln(r) = left."""
    from scipy.special import lambertw

    # At 0 both roots are 1, where rounding may lead the function out of its domain.
    argument = -np.exp(-1.0 - np.maximum(left, 1e-14))
    below = -np.real(lambertw(argument, 0))
    above = -np.real(lambertw(argument, -1))
    return np.log(np.clip(below, 1e-300, 1.0)), np.log(np.maximum(above, 1.0))


def _peak(values: NDArray[np.float64]) -> float:
    """Give the greatest value of a smooth curve on even places, between them too."""
    place = int(np.argmax(values))
    if place in {0, values.size - 1}:
        return float(values[place])
    before, here, after = values[place - 1 : place + 2]
    bend = before - 2.0 * here + after
    return float(here - (after - before) ** 2 / (8.0 * bend)) if bend < 0.0 else float(here)
