"""Whether the units of one group come back more than those of another, and by how many returns.

References
----------
Variances over units, and the test: [LAWLESSNADEAU1995], [COOKLAWLESS2007], 3.7. The interval of the
difference from those of the two means: [ZOU2008]. Degrees of freedom: [WELCH1947].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.clusters import Clusters, Influence
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Histories
from turnwell.life.returns.mean_cumulative import MeanCumulative, mean_of
from turnwell.life.returns.watch import Watch, watch_of

__all__ = ["Difference", "difference"]


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """Mean returns of a unit of the first group less those of one of the second, from `start` on.

    Parameters
    ----------
    start, end : float
        The stretch over which both groups were watched, in `clock`.
    time : array, shape (m,)
        Ages at which something of either came back, rising.
    value, low, high : array, shape (m,)
        The difference up to and with each age, and its pointwise limits.
    first, second : MeanCumulative
        The two curves over that stretch.
    statistic : float
        Of the test over the whole stretch: above 0 where the first group comes back more.
    degrees : float
        Its degrees of freedom.
    p : float
        Two-sided, by Student's t: of as great a difference where the two means are the same
        throughout.
    is_by_office : bool
        Whether units of one office may be alike; an office may have units in both groups.
    level : float
    clock : Clock
    """

    start: float
    end: float
    time: NDArray[np.float64]
    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    first: MeanCumulative
    second: MeanCumulative
    statistic: float
    degrees: float
    p: float
    is_by_office: bool
    level: float
    clock: Clock

    def at(self, age: float) -> Estimate:
        """Give the difference from `start` up to and with an age, `start` to `end`.

        Raises
        ------
        InputError
            If a group was not watched at that age.
        """
        if not self.start <= age <= self.end:
            raise InputError(
                f"age is {age:g}, but both groups were watched from {self.start:g} to "
                f"{self.end:g}; ask for an age between"
            )
        place = int(np.searchsorted(self.time, age, side="right")) - 1
        if place < 0:
            here = self.first.at(age), self.second.at(age)
            return Estimate(0.0, -here[1].high, here[0].high, self.level)
        ends = float(self.low[place]), float(self.high[place])
        return Estimate(float(self.value[place]), *ends, self.level)


def difference(
    first: Histories,
    second: Histories,
    *,
    by_office: bool = False,
    level: float = 0.95,
    start: float | None = None,
) -> Difference:
    """Compare the mean returns of the units of two groups over the ages watched in both.

    Parameters
    ----------
    first, second : Histories
        The two groups; no unit is in both. Offices carry the same numbers in both.
    by_office : bool
        Take variances over offices, whose units may be alike, instead of over units.
    level : float
        Coverage of the pointwise limits.
    start : float or None
        Age to count from; the later of the two first starts where None.

    Raises
    ------
    CannotTellError
        If a group is one cluster only, or nothing came back.
    InputError
        If clocks differ, or the groups share no stretch.

    Examples
    --------
    >>> often = Histories.of([9, 9, 9], [0, 0, 1, 2, 2], [2, 5, 4, 3, 8])
    >>> seldom = Histories.of([9, 9, 9], [0], [6])
    >>> compared = difference(often, seldom)
    >>> round(compared.at(9).value, 3)
    1.333
    """
    one, other = _watches(first, second, start)
    means = tuple(mean_of(watch, by_office=by_office, level=level) for watch in (one, other))
    if min(mean.clusters for mean in means) < 2:
        raise CannotTellError(
            "a group is one unit or one office only, which shows no spread; give two at least"
        )
    time = np.unique(np.concatenate([one.time, other.time]))
    if time.size == 0:
        raise CannotTellError("nothing came back in either group; there is nothing to compare")
    pair = _Pair(one, other, time, by_office=by_office)
    low, high = _limits(means, pair, time)
    statistic, degrees = pair.test()
    return Difference(
        start=one.start,
        end=one.end,
        time=time,
        value=means[0].on(time).value - means[1].on(time).value,
        low=low,
        high=high,
        first=means[0],
        second=means[1],
        statistic=statistic,
        degrees=degrees,
        p=_two_sided(statistic, degrees),
        is_by_office=by_office,
        level=level,
        clock=first.clock,
    )


def _watches(first: Histories, second: Histories, start: float | None) -> tuple[Watch, Watch]:
    """Give both groups over one stretch."""
    if first.clock != second.clock:
        raise InputError("groups count in different clocks; compare cycles with cycles")
    one, other = watch_of(first, start=start), watch_of(second, start=start)
    while one.start != other.start:
        begin = max(one.start, other.start)
        one, other = watch_of(first, start=begin), watch_of(second, start=begin)
    end = min(one.end, other.end)
    return watch_of(first, start=one.start, end=end), watch_of(second, start=one.start, end=end)


class _Pair:
    """Both groups on one grid, and what each cluster moves each mean by."""

    def __init__(
        self, one: Watch, other: Watch, time: NDArray[np.float64], *, by_office: bool
    ) -> None:
        self.watches = one, other
        kept, others = one.histories, other.histories
        self.time = time
        units = kept.count + others.count
        whose = np.concatenate([kept.office, others.office]) if by_office else np.arange(units)
        came = np.concatenate([kept.unit, others.unit + kept.count])
        starts = np.concatenate([kept.start, others.start])
        stops = np.concatenate([kept.stop, others.stop])
        self.event_at = np.searchsorted(time, np.concatenate([kept.at, others.at]))
        self.is_first = np.repeat([1.0, 0.0], [kept.count, others.count])
        self.event_is_first = np.repeat([1.0, 0.0], [kept.returns, others.returns])
        self.counts = tuple(
            int(np.unique(whose[self.is_first == flag]).size) for flag in (1.0, 0.0)
        )
        self.event_weight = np.concatenate([kept.weight, others.weight])
        self.clusters = Clusters(
            whose,
            np.searchsorted(time, starts, side="right").astype(np.intp),
            np.searchsorted(time, stops, side="right").astype(np.intp),
            whose[came],
            self.event_at.astype(np.intp),
            steps=time.size,
        )
        self.at_risk = tuple(_at_risk(watch, time) for watch in self.watches)
        self.rises = tuple(_on_grid(watch, time) for watch in self.watches)

    def influence(
        self, group: int, weight: NDArray[np.float64], rise: NDArray[np.float64]
    ) -> Influence:
        """Give a unit's influence on the weighted sum of the rises of one group's mean.

        rise is what is held against each unit: that of the group, or of both.
        """
        factor = weight / self.at_risk[group]
        is_of_it = self.event_is_first if group == 0 else 1.0 - self.event_is_first
        return Influence(
            jump=factor[self.event_at] * self.event_weight * is_of_it,
            slope=factor * rise,
            units=self.is_first if group == 0 else 1.0 - self.is_first,
        )

    def correlation(self) -> NDArray[np.float64]:
        """Give the correlation of the two means at each age; 0 where no cluster is in both."""
        if sum(self.counts) == self.clusters.count:
            return np.zeros(self.time.size)
        ones = np.ones(self.time.size)
        first, second = (self.influence(group, ones, self.rises[group]) for group in (0, 1))
        products = self.clusters.products
        spread = products(first, first) * products(second, second)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = products(first, second) / np.sqrt(np.maximum(spread, 0.0))
        return np.clip(np.nan_to_num(ratio, nan=0.0, posinf=0.0, neginf=0.0), -1.0, 1.0)

    def test(self) -> tuple[float, float]:
        """Give statistic and degrees of freedom, most weight where both are watched most.

        The units are held against the mean of both groups, as if these were one: against its own
        mean a small group looks too much alike.
        """
        one, other = self.at_risk
        weight = one * other / (one + other)
        joint = (self.rises[0] * one + self.rises[1] * other) / (one + other)
        moved = [self.clusters.totals(self.influence(group, weight, joint)) for group in (0, 1)]
        squares = [float(each @ each) for each in moved]
        variance = sum(squares) - 2.0 * float(moved[0] @ moved[1])
        told = float(np.sum(weight * (self.rises[0] - self.rises[1])))
        if variance <= 0.0:
            # Every unit of both came back at the same ages: the means are one.
            return 0.0, sum(self.counts) - 2.0
        degrees = sum(squares) ** 2 / sum(
            square**2 / (count - 1.0) for square, count in zip(squares, self.counts, strict=True)
        )
        return told / float(np.sqrt(variance)), degrees


def _at_risk(watch: Watch, time: NDArray[np.float64]) -> NDArray[np.float64]:
    kept = watch.histories
    here = np.searchsorted(np.sort(kept.start), time, side="left")
    gone = np.searchsorted(np.sort(kept.stop), time, side="left")
    return (here - gone).astype(np.float64)


def _on_grid(watch: Watch, time: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the rises of a mean at the ages of both groups."""
    rises = np.zeros(time.size)
    rises[np.searchsorted(time, watch.time)] = watch.weight / watch.at_risk
    return rises


def _limits(
    means: tuple[MeanCumulative, ...], pair: _Pair, time: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the limits that those of the two means make together."""
    one, other = (mean.on(time) for mean in means)
    shared = pair.correlation()
    down = _together(one.value - one.low, other.high - other.value, shared)
    up = _together(one.high - one.value, other.value - other.low, shared)
    between = one.value - other.value
    return between - down, between + up


def _together(
    one: NDArray[np.float64], other: NDArray[np.float64], shared: NDArray[np.float64]
) -> NDArray[np.float64]:
    is_open = ~(np.isfinite(one) & np.isfinite(other))
    both = np.where(is_open, 0.0, one), np.where(is_open, 0.0, other)
    square = both[0] ** 2 + both[1] ** 2 - 2.0 * shared * both[0] * both[1]
    return np.where(is_open, np.inf, np.sqrt(np.maximum(square, 0.0)))


def _two_sided(statistic: float, degrees: float) -> float:
    from scipy.special import stdtr

    return float(2.0 * stdtr(degrees, -abs(statistic)))
