"""The mean number (or cost) of returns of a unit up to each age, with no law assumed.

References
----------
The curve and its variance over units: [NELSON1995], [LAWLESSNADEAU1995], [COOKLAWLESS2007], 3.4.
"""

from dataclasses import dataclass
from math import inf, log
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Clusters, Influence
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Histories
from turnwell.life.returns.watch import Watch, watch_of
from turnwell.life.tails import normal_reach, student_reach, tail_of

__all__ = ["MeanAtAges", "MeanCumulative", "mean_cumulative", "mean_of"]


class MeanAtAges(NamedTuple):
    """Mean returns and pointwise limits at some ages, each of the same shape as these."""

    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class MeanCumulative:
    """Mean returns of a unit from `start` up to each age; their mean cost with weights.

    Parameters
    ----------
    start, end : float
        The stretch over which a unit was watched at every age, in `clock`.
    time : array, shape (m,)
        Ages at which something came back, rising.
    value : array, shape (m,)
        Mean returns up to and with each.
    variance : array, shape (m,)
        Of `value`, over units or over offices, whatever way returns of one depend on each other.
    low, high : array, shape (m,)
        Pointwise limits, on the scale of the logarithm: Student's t over the clusters, or those of
        independent returns where these lie further out. Open with one cluster.
    at_risk : array of float, shape (m,)
        How many units were watched at each.
    clusters : int
        How many units, or offices, the variance is taken over.
    is_by_office : bool
    whole : array
        Ends, rising, of the units watched from `start` on; they bound the mean before the first
        return.
    is_counted : bool
        True for numbers of returns, False where each weighs something else, as its cost.
    level : float
    clock : Clock
    """

    start: float
    end: float
    time: NDArray[np.float64]
    value: NDArray[np.float64]
    variance: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    at_risk: NDArray[np.float64]
    clusters: int
    is_by_office: bool
    whole: NDArray[np.float64]
    is_counted: bool
    level: float
    clock: Clock

    def at(self, age: float) -> Estimate:
        """Give the mean from `start` up to and with an age, `start` to `end`.

        Before the first return the upper limit is that of no return in so many units
        [GARWOOD1936]; for costs there is none.

        Raises
        ------
        InputError
            If no unit was watched at that age.
        """
        if not self.start <= age <= self.end:
            raise InputError(
                f"age is {age:g}, but units were watched from {self.start:g} to {self.end:g}; "
                "ask for an age between"
            )
        if age == self.start:
            return Estimate(0.0, 0.0, 0.0, self.level)
        value, low, high = self.on(np.array([age]))
        return Estimate(float(value[0]), float(low[0]), float(high[0]), self.level)

    def on(self, ages: NDArray[np.float64]) -> MeanAtAges:
        """Give mean and limits at many ages after `start` and up to `end`; as `at`."""
        place = np.searchsorted(self.time, ages, side="right")
        count = self.whole.size - np.searchsorted(self.whole, ages, side="left")
        least = -log(tail_of(self.level))
        none = np.where(count > 0, least / np.maximum(count, 1), inf)
        if not self.is_counted:
            none = np.full(ages.shape, inf)
        value, low, high = (
            np.concatenate([[0.0], each])[place] for each in (self.value, self.low, self.high)
        )
        return MeanAtAges(value, low, np.where(value > 0.0, high, none))


def mean_cumulative(
    histories: Histories,
    *,
    by_office: bool = False,
    level: float = 0.95,
    start: float | None = None,
) -> MeanCumulative:
    """Estimate the mean returns of a unit up to each age; their mean cost where they are weighted.

    Parameters
    ----------
    histories : Histories
        A unit counts among those watched after its start, up to and with its stop.
    by_office : bool
        Take the variance over offices, whose units may be alike, instead of over units.
    level : float
        Coverage of the pointwise limits.
    start : float or None
        Age to count from; the first start where None. The curve ends where no unit is watched.

    Raises
    ------
    InputError
        If no unit is watched beyond start.

    Examples
    --------
    >>> histories = Histories.of([10.0, 20.0], [0, 0, 1], [4.0, 9.0, 15.0])
    >>> mean_cumulative(histories).value
    array([0.5, 1. , 2. ])
    """
    return mean_of(watch_of(histories, start=start), by_office=by_office, level=level)


def mean_of(watch: Watch, *, by_office: bool, level: float) -> MeanCumulative:
    """Give the curve of a watch; see `mean_cumulative`."""
    value = np.cumsum(watch.weight / watch.at_risk)
    kept = watch.histories
    clusters = watch.clusters(kept.office if by_office else np.arange(kept.count))
    variance = _variance(watch, clusters)
    low, high = _limits(value, _reach(watch, variance, clusters.count, level))
    return MeanCumulative(
        start=watch.start,
        end=watch.end,
        time=watch.time,
        value=value,
        variance=variance,
        low=low,
        high=high,
        at_risk=watch.at_risk,
        clusters=clusters.count,
        is_by_office=by_office,
        whole=watch.whole,
        is_counted=bool(np.all(kept.weight == 1.0)),
        level=level,
        clock=kept.clock,
    )


def _variance(watch: Watch, clusters: Clusters) -> NDArray[np.float64]:
    jump = watch.histories.weight / watch.at_risk[watch.step]
    influence = Influence(jump=jump, slope=watch.weight / watch.at_risk**2)
    return np.maximum(clusters.products(influence, influence), 0.0)


def _reach(
    watch: Watch, variance: NDArray[np.float64], clusters: int, level: float
) -> NDArray[np.float64]:
    """Give how far the limits lie from the mean, on its own scale.

    Where few are watched those few look more alike than they are: at one, its own mean is the
    mean. So the reach is never shorter than that of returns that depend on nothing.
    """
    independent = normal_reach(level) * np.sqrt(np.cumsum(watch.squares / watch.at_risk**2))
    if clusters < 2:
        return np.full_like(variance, inf)
    over = student_reach(level, clusters - 1) * np.sqrt(variance * clusters / (clusters - 1.0))
    return np.maximum(over, independent)


def _limits(
    value: NDArray[np.float64], reach: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give limits on the scale of the logarithm, which keeps them above 0."""
    above = value > 0.0
    mean = np.where(above, value, 1.0)
    with np.errstate(over="ignore"):
        factor = np.exp(reach / mean)
    return np.where(above, mean / factor, 0.0), np.where(above, mean * factor, inf)
