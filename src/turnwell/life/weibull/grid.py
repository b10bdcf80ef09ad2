"""What lives leave open about shape and scale, as points with weights.

Weights are the likelihood under a prior flat in ln scale and rising with the square root of the
shape, within bounds on the shape that only lives with one or two failures feel. The log-likelihood
is divided by 1 + 1 / (2 failures), as the intervals of a fit are widened, so that both say the
same; measured cover of the grid's intervals is in docs/method-life-weibull.md. No random number.

References
----------
Posterior of a Weibull life under near-flat priors: [LAWLESS2003], 5; [MEEKERESCOBAR1998], 14.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log, log1p, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Lives
from turnwell.life.tails import tail_of
from turnwell.life.weibull.likelihood import Likelihood, likelihood_of
from turnwell.life.weibull.maximum import Maximum, maximum_of, refuse_endless, scale_for
from turnwell.life.weibull.profile import WIDENING, profile_limits
from turnwell.life.weibull.rooting import falling_root
from turnwell.life.weibull.targets import ShapeTarget
from turnwell.life.weibull.weighted import weighted_quantiles

__all__ = ["WeibullGrid", "grid_of", "weibull_grid"]

# Shapes thought possible at all; wear of real things lies well inside (common practice).
SHAPE_LOW = 0.2
SHAPE_HIGH = 20.0
_SHAPES = 96
_SCALES = 64
# Points whose log density lies further below the top than this are left out.
_DEPTH = 14.0
_DEEPEST = sqrt(2.0 * _DEPTH)
_SHAPE_POWER = 0.5

Function = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]


@dataclass(frozen=True, slots=True, eq=False)
class WeibullGrid:
    """Pairs of shape and scale with how likely each is.

    Parameters
    ----------
    shape, scale, weight : array, shape (m,)
        Weights add up to 1; scale in `clock`.
    failures : int
        What the weights rest on.
    clock : Clock
    """

    shape: NDArray[np.float64]
    scale: NDArray[np.float64]
    weight: NDArray[np.float64]
    failures: int
    clock: Clock

    def estimate(self, function: Function, *, level: float = 0.95) -> Estimate:
        """Give the median and the credible interval of a function of shape and scale.

        Parameters
        ----------
        function : callable
            Takes arrays of shape and scale, shape (m,), and gives one of that shape.
        """
        values = np.broadcast_to(function(self.shape, self.scale), self.weight.shape)
        tail = tail_of(level)
        low, value, high = weighted_quantiles(values, self.weight, [tail, 0.5, 1.0 - tail])
        return Estimate(float(value), float(low), float(high), level)

    def mean(self, function: Function) -> float:
        """Give the mean of a function: with a chance, the chance of the next one."""
        values = np.broadcast_to(function(self.shape, self.scale), self.weight.shape)
        return float(self.weight @ values)


def weibull_grid(lives: Lives) -> WeibullGrid:
    """Give the grid of lives.

    Raises
    ------
    CannotTellError
        If nothing failed, or the lives rule out every shape from 0.2 to 20.

    Examples
    --------
    >>> ages = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10
    >>> grid = weibull_grid(Lives.observed(ages, [1] * 10 + [0] * 10))
    >>> told = grid.estimate(lambda shape, scale: shape)
    >>> [round(end, 2) for end in (told.low, told.value, told.high)]
    [0.79, 1.59, 2.75]
    """
    return grid_of(likelihood_of(lives), clock=lives.clock)


def grid_of(likelihood: Likelihood, *, clock: Clock, maximum: Maximum | None = None) -> WeibullGrid:
    """Give the grid of a likelihood, whose maximum may be known."""
    refuse_endless(likelihood)
    logs = _log_shapes(likelihood, maximum)
    power = 1.0 / (1.0 + WIDENING / likelihood.failures)
    scales = np.empty((logs.size, _SCALES))
    density = np.empty_like(scales)
    middle = 0.0
    for row, a in enumerate(logs):
        b = exp(a)
        middle, strength = _middle(likelihood, float(a), middle)
        steps = np.linspace(*_reach(strength), _SCALES)
        scales[row] = middle - steps / b
        # A step covers less of ln scale where the shape is steep.
        size = log((steps[1] - steps[0]) / b)
        density[row] = power * likelihood.values(float(a), scales[row]) + _SHAPE_POWER * a + size
    density -= density.max()
    weight = np.exp(density)
    weight[[0, -1]] *= 0.5
    kept = density > -_DEPTH
    shapes = np.broadcast_to(np.exp(logs)[:, np.newaxis], scales.shape)
    return WeibullGrid(
        shape=shapes[kept],
        scale=np.exp(scales[kept] + likelihood.unit),
        weight=weight[kept] / weight[kept].sum(),
        failures=likelihood.failures,
        clock=clock,
    )


def _log_shapes(likelihood: Likelihood, maximum: Maximum | None) -> NDArray[np.float64]:
    """Give ln shapes, evenly spaced, over all that the likelihood leaves open."""
    low, high = log(SHAPE_LOW), log(SHAPE_HIGH)
    try:
        top = maximum or maximum_of(likelihood)
    except CannotTellError:
        # One end at least is open: the bounds close it.
        return np.linspace(low, high, _SHAPES)
    limits = profile_limits(likelihood, top, ShapeTarget(), z=_DEEPEST, is_calibrated=True)
    if limits.low >= high or limits.high <= low:
        raise CannotTellError(
            f"the {likelihood.failures} failures fit no shape from {SHAPE_LOW:g} to "
            f"{SHAPE_HIGH:g}: they lie at nearly one age, or thin out with age; check the ages"
        )
    return np.linspace(max(low, limits.low), min(high, limits.high), _SHAPES)


def _middle(likelihood: Likelihood, a: float, start: float) -> tuple[float, float]:
    """Give the likeliest ln scale for ln shape `a`, and how many exact failures fix it as well."""
    if likelihood.looks is None:
        return scale_for(likelihood, a), float(likelihood.failures)
    bend = -1.0

    def slope(m: float) -> tuple[float, float]:
        nonlocal bend
        terms = likelihood.at(a, m)
        bend = terms.by_mm
        return terms.by_m, terms.by_mm

    middle = falling_root(slope, start, -60.0, 60.0, tolerance=1e-4)
    return middle, max(-bend, 1e-3) * exp(-2.0 * a)


def _reach(strength: float) -> tuple[float, float]:
    """Give how far ln hazard is drawn to either side: until the density of a log gamma is gone."""
    depth = _DEPTH / strength

    def up(w: float) -> tuple[float, float]:
        return depth - (exp(w) - 1.0 - w), 1.0 - exp(w)

    width = sqrt(2.0 * depth)
    above = falling_root(up, min(width, 1.0 + log1p(depth)), 0.0, 60.0, tolerance=1e-3)
    below = falling_root(
        lambda w: (depth - (exp(-w) - 1.0 + w), exp(-w) - 1.0),
        width,
        0.0,
        2.0 * width + 2.0 * depth,
        tolerance=1e-3,
    )
    return -below, above
