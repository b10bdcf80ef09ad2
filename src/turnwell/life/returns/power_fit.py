"""The shape of a power law that is most likely, and the shapes that are not denied.

References
----------
[CROW1974]; exact limits of the shape where units were watched from 0 to one age: [MILHDBK189].
"""

from collections.abc import Callable

import numpy as np

from turnwell.errors import CannotTellError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Histories
from turnwell.life.returns.power_likelihood import PowerLikelihood
from turnwell.life.tails import tail_of

__all__ = ["LEAST_RETURNS", "best_shape", "exact_limits", "shape_limits"]

LEAST_RETURNS = 2

# Shapes that are searched.
SHAPES = (1e-4, 1e3)


def best_shape(likelihood: PowerLikelihood) -> float:
    """Give the shape of greatest likelihood."""
    if likelihood.returns < LEAST_RETURNS:
        raise CannotTellError(
            f"{likelihood.returns:g} returns cannot tell a shape; it takes {LEAST_RETURNS} at least"
        )
    low = _outward(likelihood.slope, 0.5, SHAPES[0], above=True)
    high = _outward(likelihood.slope, 2.0, SHAPES[1], above=False)
    if low is None or high is None:
        where = "earliest" if low is None else "latest"
        raise CannotTellError(
            f"the returns crowd at the {where} ages of the watch more than any power law would "
            "have it; there is no shape to give"
        )
    return _root(likelihood.slope, low, high)


def _outward(
    slope: Callable[[float], float], factor: float, end: float, *, above: bool
) -> float | None:
    """Step from 1 by a factor to where the slope lies above (or below) 0, or to an end."""
    shape = 1.0
    while (slope(shape) > 0.0) != above:
        if (shape <= end) if factor < 1.0 else (shape >= end):
            return None
        shape *= factor
    return shape


def shape_limits(likelihood: PowerLikelihood, shape: float, cut: float) -> tuple[float, float]:
    """Give the least and the greatest shape whose log-likelihood lies within cut of the greatest.

    The least is 0 where the likelihood denies no small shape.
    """
    floor = likelihood.value(shape) - cut
    low = high = shape
    while likelihood.value(low) > floor and low > SHAPES[0]:
        low /= 2.0
    while likelihood.value(high) > floor:
        high *= 2.0

    def above(one: float) -> float:
        return likelihood.value(one) - floor

    least = 0.0 if above(low) > 0.0 else _root(above, low, shape)
    return least, _root(above, shape, high)


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq

    return low if low == high else float(brentq(function, low, high, xtol=1e-14, rtol=1e-14))


def exact_limits(
    shape: float, histories: Histories, *, is_failure_terminated: bool, level: float
) -> Estimate | None:
    """Give the shape with the exact interval of chi-square; None where there is none.

    At very few returns the exact interval may miss the estimate, and is widened to hold it.
    """
    from scipy.special import chdtri

    degrees = _exact_degrees(histories, is_failure_terminated)
    if degrees is None:
        return None
    tail = tail_of(level)
    low, high = (
        shape * float(chdtri(degrees, share)) / (2.0 * histories.returns)
        for share in (1.0 - tail, tail)
    )
    return Estimate(shape, min(low, shape), max(high, shape), level)


def _exact_degrees(histories: Histories, is_failure_terminated: bool) -> int | None:
    """Give the degrees of freedom of the exact interval, where there is one."""
    is_one_stretch = not histories.start.any() and bool(np.all(histories.stop == histories.stop[0]))
    if is_failure_terminated:
        return 2 * (histories.returns - 1) if histories.count == 1 and is_one_stretch else None
    return 2 * histories.returns if is_one_stretch else None
