"""Smooths a phase that is measured at equal steps: how fast it turns, and how surely.

The phase is taken as a twice integrated random walk seen through white noise: the speed may wander,
as much as the measured phases themselves say. The ratio of wander to noise is averaged over by its
restricted likelihood; with no wander the estimate becomes the straight line whose slope reaches the
Cramér-Rao bound of a constant tone, with wander the interval widens as it must.

References
----------
Penalised second differences: [WHITTAKER1923]; the mixed-model view and restricted maximum
likelihood: [WAHBA1985].
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["Smoothed", "smooth"]

Floats = NDArray[np.float64]

# Ratios of wander to noise that are tried, in units of the slowest mode's curvature: from "none
# that could be seen" to "wander in every step".
_RATIOS = np.logspace(-4.0, 11.0, 61)


@dataclass(frozen=True, slots=True, eq=False)
class Smoothed:
    """A smoothed phase at equal steps.

    Parameters
    ----------
    value : array, shape (n,)
        Smoothed values.
    rate, rate_sd : array, shape (n,)
        Their change per step and its standard deviation.
    mean_rate, mean_rate_sd : float
        Change per step over the whole span, `before` and `after` with it, and its standard
        deviation.
    wander_sd : float
        Of the change of the rate from step to step.
    """

    value: Floats
    rate: Floats
    rate_sd: Floats
    mean_rate: float
    mean_rate_sd: float
    wander_sd: float


def smooth(
    values: Floats,
    noise_sd: float,
    most_wander: float,
    *,
    before: float = 0.0,
    after: float = 0.0,
) -> Smoothed:
    """Smooth values measured at equal steps.

    Parameters
    ----------
    values : array, shape (n,)
        At least 5.
    noise_sd : float
        Standard deviation of the noise of one value, known from elsewhere: a wandering speed makes
        neighbouring steps alike, which would pass for less noise than there is.
    most_wander : float
        Largest change of the rate from step to step to believe, one standard deviation.
    before, after : float
        Steps by which the mean rate is to reach beyond the first and the last value. An end's value
        and its rate err together, so they are carried on as one.
    """
    count = len(values)
    curvature, modes = _modes(count)
    weight = modes.T @ values
    ratios = curvature[2] * _RATIOS
    noise = max(noise_sd, 1e-12) ** 2
    ratios = np.minimum(ratios, most_wander**2 / noise)
    chance = _chance(weight[2:], curvature[2:], ratios, noise)
    keep = np.ones((ratios.size, count))
    keep[:, 2:] = ratios[:, None] / (ratios[:, None] + curvature[2:])
    value = modes @ ((chance @ keep) * weight)
    # The variance of the mixture: within each ratio, and between what the ratios say.
    last = modes[-1] + after * (modes[-1] - modes[-2])
    first = modes[0] - before * (modes[1] - modes[0])
    steps = count - 1 + before + after
    span = (last - first) / steps
    mean_rates = keep @ (span * weight)
    mean_rate = float(chance @ mean_rates)
    within = noise * (chance @ keep)
    # The rate of an end is that of half a step before it, and walks on from there.
    reach = [(gap + 0.5) ** 3 / 3.0 for gap in (before, after) if gap > 0.0]
    walked = noise * (chance @ ratios) * sum(reach) / steps**2
    mean_rate_variance = span**2 @ within + chance @ (mean_rates - mean_rate) ** 2 + walked
    slopes = _slopes(modes)
    return Smoothed(
        value=value,
        rate=_slopes(value),
        rate_sd=np.sqrt(slopes**2 @ within),
        mean_rate=mean_rate,
        mean_rate_sd=float(np.sqrt(mean_rate_variance)),
        wander_sd=float(np.sqrt(noise * (chance @ ratios))),
    )


def _slopes(values: Floats) -> Floats:
    """Central differences along the first axis, one-sided at the ends."""
    slopes = np.empty_like(values)
    slopes[1:-1] = (values[2:] - values[:-2]) / 2.0
    slopes[0], slopes[-1] = values[1] - values[0], values[-1] - values[-2]
    return slopes


@lru_cache(maxsize=16)
def _modes(count: int) -> tuple[Floats, Floats]:
    """Eigenvalues, rising, and eigenvectors of the squared second difference."""
    difference = np.diff(np.eye(count), n=2, axis=0)
    curvature, modes = np.linalg.eigh(difference.T @ difference)
    curvature[:2] = 0.0
    return np.maximum(curvature, 0.0), modes


def _chance(weight: Floats, curvature: Floats, ratios: Floats, noise: float) -> Floats:
    """How likely each ratio of wander to noise is."""
    spread = noise * (1.0 + ratios[:, None] / curvature)
    likelihood = -0.5 * np.sum(weight**2 / spread + np.log(spread), axis=1)
    chance = np.exp(likelihood - likelihood.max())
    return np.asarray(chance / chance.sum(), np.float64)
