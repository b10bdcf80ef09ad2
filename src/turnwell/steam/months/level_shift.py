"""Where in a series its level changed for good, and how likely chance alone makes it look so.

The series is split at every place, the ranks of both parts are compared, and the largest
standardised difference counts. Ranks bear outliers and need no distribution; ties are in their
variance. What follows is published approximations, no resampling.

References
----------
Statistic: [LAUSEN1992]. Its limit, with the correction for steps that are not infinitely small:
[JAMES1987], [SIEGMUND1985]. Series that remember: the variance grows by (1 + r) / (1 - r),
[BAYLEY1946], with the lag-one correlation r freed of its bias, [KENDALL1954]. Place of the change:
least squares of clipped values, its range [BAI1997]. Shift: [HODGES1963].
"""

from dataclasses import dataclass
from math import erfc, exp, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.months.confidence import NORMAL_95

__all__ = [
    "FEWEST_IN_PART",
    "FEWEST_VALUES",
    "Level",
    "Shift",
    "chance_of",
    "critical_value",
    "level_of",
    "memory_of",
    "shift_in",
    "shift_size",
    "spread_of",
]

Floats = NDArray[np.float64]

# A level needs so many values; below twice as many and two, ranks cannot reach the limit.
FEWEST_IN_PART = 5
FEWEST_VALUES = 12

_OVERSHOOT = 0.583  # of a sum over its limit, in standard deviations of a step, [SIEGMUND1985]
# What two fitted levels and the search for their place take off r, times n; by simulation. One
# level alone takes 1, [KENDALL1954].
_BIAS = 3.0
_MOST_MEMORY = 0.9
_PLACE_95 = 11.0  # quantile of the place's error times (shift / sd)^2, [BAI1997]
_MAD_TO_SD = 1.482602218505602
_CLIP_SD = 2.5
_MOST_PAIRED = 500


@dataclass(frozen=True, slots=True)
class Level:
    """A median with its 95 % interval, and the count of values it is of."""

    value: float
    low: float
    high: float
    count: int

    def as_dict(self) -> dict[str, float | int]:
        """Give the level as JSON values."""
        return {"value": self.value, "low": self.low, "high": self.high, "count": self.count}


@dataclass(frozen=True, slots=True)
class Shift:
    """The likeliest change of level in a series.

    Parameters
    ----------
    index : int
        Values before it.
    earliest, latest : int
        The same at the ends of the 95 % range.
    statistic : float
        Largest standardised difference of the ranks.
    chance : float
        Of one as large where nothing changes.
    memory : float
        Factor by which the series' memory makes variances larger, at least 1.
    """

    index: int
    earliest: int
    latest: int
    statistic: float
    chance: float
    memory: float


def shift_in(values: Floats) -> Shift | None:
    """Find the likeliest change of level.

    Parameters
    ----------
    values : array, shape (n,)
        In order of time, n >= `FEWEST_VALUES`, finite.

    Returns
    -------
    Shift or None
        None where all values are equal.

    Examples
    --------
    >>> found = shift_in(np.repeat([4.0, 5.0], [20, 10]))
    >>> found.index, found.chance < 1e-4
    (20, True)
    """
    ranks = _ranks(values)
    if np.all(ranks == ranks[0]):
        return None
    count = values.size
    places = np.arange(FEWEST_IN_PART, count - FEWEST_IN_PART + 1)
    sums = np.cumsum(ranks - ranks.mean())[places - 1]
    scale = np.sqrt(places * (count - places) / count * np.var(ranks, ddof=1))
    scores = np.abs(sums) / scale
    first = int(places[np.argmax(scores)])
    residuals = np.concatenate([part - part.mean() for part in np.split(ranks, [first])])
    memory = memory_of(residuals)
    statistic = float(scores.max()) / sqrt(memory)
    index, reach = _place(values, first, memory)
    return Shift(
        index=index,
        earliest=max(index - reach, 1),
        latest=min(index + reach, count - 1),
        statistic=statistic,
        chance=chance_of(statistic, count),
        memory=memory,
    )


def chance_of(statistic: float, count: int) -> float:
    """Give the chance of a statistic as large in `count` values whose level stays.

    Examples
    --------
    >>> round(chance_of(3.0, 100), 3)
    0.051
    """
    if statistic <= 1.0:
        return 1.0  # the approximation is one for tails
    share = np.linspace(FEWEST_IN_PART / count, 1.0 - FEWEST_IN_PART / count, 200)
    left = share * (1.0 - share)
    overshoot = np.exp(-_OVERSHOOT * statistic / np.sqrt(count * left))
    integral = float(np.trapezoid(overshoot / left, share))
    density = exp(-0.5 * statistic**2) / sqrt(2.0 * pi)
    return min(1.0, statistic * density * integral + erfc(statistic / sqrt(2.0)))


def critical_value(false_alarm: float, count: int) -> float:
    """Give the statistic that chance alone passes with this probability."""
    low, high = 1.0, 12.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if chance_of(middle, count) > false_alarm else (low, middle)
    return 0.5 * (low + high)


def memory_of(residuals: Floats) -> float:
    """Give the factor by which serial correlation makes the variance of a mean larger.

    Parameters
    ----------
    residuals : array, shape (n,)
        About what was fitted. A negative correlation counts as none.
    """
    power = float(residuals @ residuals)
    if power == 0.0 or residuals.size <= FEWEST_IN_PART:
        return 1.0
    count = residuals.size
    found = float(residuals[1:] @ residuals[:-1]) / power
    freed = min(max((count * found + _BIAS) / (count - 4.0), 0.0), _MOST_MEMORY)
    return (1.0 + freed) / (1.0 - freed)


def spread_of(residuals: Floats) -> float:
    """Give a standard deviation that bears outliers; that of all where half are equal."""
    robust = _MAD_TO_SD * float(np.median(np.abs(residuals - np.median(residuals))))
    return robust or float(np.std(residuals))


def level_of(values: Floats, *, memory: float = 1.0) -> Level:
    """Give the median with its interval from order statistics."""
    half = NORMAL_95 * sqrt(memory) / (2.0 * sqrt(values.size))
    low, middle, high = np.quantile(values, _shares(half))
    return Level(float(middle), float(low), float(high), values.size)


def shift_size(before: Floats, after: Floats, *, memory: float = 1.0) -> Level:
    """Give by how much the second level lies above the first: the median of all differences."""
    count = before.size + after.size
    spread = sqrt(memory * (count + 1.0) / (12.0 * before.size * after.size))
    pairs = np.subtract.outer(_thinned(after), _thinned(before)).ravel()
    low, middle, high = np.quantile(pairs, _shares(NORMAL_95 * spread))
    return Level(float(middle), float(low), float(high), count)


def _shares(half: float) -> list[float]:
    """Give the shares at which the quantiles of low, middle and high lie."""
    half = min(half, 0.5)
    return [0.5 - half, 0.5, 0.5 + half]


def _thinned(values: Floats) -> Floats:
    """Give at most `_MOST_PAIRED` values that are spread as all are."""
    if values.size <= _MOST_PAIRED:
        return values
    return np.asarray(np.quantile(values, (np.arange(_MOST_PAIRED) + 0.5) / _MOST_PAIRED))


def _ranks(values: Floats) -> Floats:
    """Give ranks from 1, equal values share their mean."""
    _, place, counts = np.unique(values, return_inverse=True, return_counts=True)
    mean_rank = np.cumsum(counts) - (counts - 1) / 2.0
    return np.asarray(mean_rank[place])


def _place(values: Floats, first: int, memory: float) -> tuple[int, int]:
    """Give where the level changes by least squares of clipped values, and the reach of its range.

    Ranks draw the place towards the middle; least squares does not, and clipping bears outliers.
    """
    levels = [float(np.median(part)) for part in np.split(values, [first])]
    residuals = np.concatenate([values[:first] - levels[0], values[first:] - levels[1]])
    reach = _CLIP_SD * spread_of(residuals)
    clipped = np.clip(values, min(levels) - reach, max(levels) + reach)
    count = values.size
    places = np.arange(FEWEST_IN_PART, count - FEWEST_IN_PART + 1)
    sums = np.cumsum(clipped - clipped.mean())[places - 1]
    index = int(places[np.argmax(np.abs(sums) / np.sqrt(places * (count - places)))])
    before, after = clipped[:index], clipped[index:]
    shift = float(after.mean() - before.mean())
    variance = (before.var() * before.size + after.var() * after.size) / count
    if shift == 0.0:
        return index, count
    return index, int(_PLACE_95 * memory * variance / shift**2) + 1
