"""Smooths a phase that is measured at equal steps: how fast it turns, and how surely.

The phase is taken as a twice integrated random walk seen through white noise: the speed may wander,
as much as the measured phases themselves say. The ratio of wander to noise is averaged over by its
restricted likelihood; with no wander the estimate becomes the straight line whose slope reaches the
Cramér-Rao bound of a constant tone, with wander the interval widens as it must.

References
----------
Penalised second differences: [WHITTAKER1923]; the mixed-model view and restricted maximum
likelihood: [WAHBA1985]. Cube root of chi-square: [WILSON1931].
"""

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

__all__ = ["Smoothed", "Spread", "smooth"]

Floats = NDArray[np.float64]

# Ratios of wander to noise that are tried, in units of the slowest mode's curvature: from "none
# that could be seen" to "wander in every step".
_RATIOS = np.logspace(-4.0, 11.0, 61)
_UNSEEN = 0.1
_LEAST_CHANCE = 1e-5
_NEXT_TO_NOTHING = 0.01  # of the variance
# Middles of 40 equal parts of the normal distribution.
_NORMAL = np.array([NormalDist().inv_cdf((part + 0.5) / 40.0) for part in range(40)])


@dataclass(frozen=True, slots=True)
class Spread:
    """Variance of a rate about its mean, as far as noise lets it be known.

    Parameters
    ----------
    low, middle, high : float
        2.5, 50 and 97.5 % of what it may be; `low` is 0 where noise alone explains what is seen.
    """

    low: float
    middle: float
    high: float

    def scaled(self, by: float) -> "Spread":
        """Give the same in units `1 / by` times as large."""
        return Spread(self.low * by, self.middle * by, self.high * by)


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
    spread : Spread
        Of the rates about their mean.
    """

    value: Floats
    rate: Floats
    rate_sd: Floats
    mean_rate: float
    mean_rate_sd: float
    wander_sd: float
    spread: Spread


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
        spread=_spread(slopes, weight, keep, chance, noise),
    )


def _spread(slopes: Floats, weight: Floats, keep: Floats, chance: Floats, noise: float) -> Spread:
    """Give what the variance of the rates about their mean may be.

    Given a ratio, each mode is normal, so the variance is a quadratic form: its mean is that of the
    smoothed rates and what the smoothing left open, together. It is taken as a multiple of
    chi-square with the form's own mean and variance, by the cube root of [WILSON1931], and mixed
    over the ratios.
    """
    likely = np.flatnonzero(chance > _LEAST_CHANCE)
    share = np.var(slopes, axis=0)
    rates = slopes @ (keep[likely] * weight).T
    left = noise * keep[likely] * share
    mean = np.var(rates, axis=0) + left.sum(axis=1)
    pull = (rates - rates.mean(axis=0)).T @ slopes / len(slopes)
    variance = np.sum(2.0 * left**2 + 4.0 * pull**2 * noise * keep[likely], axis=1)
    third = variance / (9.0 * mean**2)
    part = 1.0 - third[:, None] + _NORMAL * np.sqrt(third)[:, None]
    at = (mean[:, None] * np.maximum(part, 0.0) ** 3).ravel()
    order = np.argsort(at)
    total = np.cumsum(np.repeat(chance[likely] / _NORMAL.size, _NORMAL.size)[order])
    low, middle, high = np.interp(np.array([0.025, 0.5, 0.975]) * total[-1], total, at[order])
    # The lowest ratios are "no wander that could be seen".
    is_noise = float(chance[_RATIOS < _UNSEEN].sum()) > 0.025 or low < _NEXT_TO_NOTHING * middle
    return Spread(0.0 if is_noise else float(low), float(middle), float(high))


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
