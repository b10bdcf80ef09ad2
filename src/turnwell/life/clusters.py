"""Sums of squares of influence over clusters: what an estimate owes to each unit or office.

An estimate on a grid of m steps is moved by cluster c at step j by

    A_c(j) = sum of the jumps of its events up to j  -  sum over its units at risk up to j of slope.

Between the steps at which a unit of c comes, goes or fails, A_c is ``level - units * slope(j)``,
level and units constant and slope(j) running. So the sum of squares over all clusters is a
quadratic in the running slope whose coefficients change only there: it is had for all steps at
once in the time of a sort, whatever the number of clusters.

References
----------
The sum of squared influence as variance of an estimate: [HUBER1967]; over clusters: [LIANG1986].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Clusters", "Influence"]


@dataclass(frozen=True, slots=True, eq=False)
class Influence:
    """What one unit moves an estimate by.

    Parameters
    ----------
    jump : array, shape (e,)
        Of each event, at its step.
    slope : array, shape (m,)
        What every unit at risk at a step takes off there.
    units : array, shape (n,), or None
        How much of `slope` each unit takes off: 1 for those of a group, 0 for the rest; 1 for all
        where None.
    """

    jump: NDArray[np.float64]
    slope: NDArray[np.float64]
    units: NDArray[np.float64] | None = None


class Clusters:
    """Clusters of units that come and go on a grid of steps.

    Parameters
    ----------
    cluster : array of int, shape (n,)
        Cluster of each unit.
    enter, leave : array of int, shape (n,)
        A unit is at risk at the steps enter to leave - 1, of 0 to m - 1.
    event_cluster, event_at : array of int, shape (e,)
        Cluster and step of each event.
    steps : int
        m, the length of the grid.

    Examples
    --------
    Two units at risk at one step, one of which fails there: each is half a failure off the mean.

    >>> one = np.array([0])
    >>> both = Clusters(np.array([0, 1]), np.array([0, 0]), np.array([1, 1]), one, one, steps=1)
    >>> influence = Influence(jump=np.array([1.0]), slope=np.array([0.5]))
    >>> both.products(influence, influence)
    array([0.5])
    """

    __slots__ = ("_at", "_enter", "_first", "_leave", "_order", "count", "steps")

    def __init__(
        self,
        cluster: NDArray[np.intp],
        enter: NDArray[np.intp],
        leave: NDArray[np.intp],
        event_cluster: NDArray[np.intp],
        event_at: NDArray[np.intp],
        *,
        steps: int,
    ) -> None:
        whose = np.concatenate([cluster, cluster, event_cluster])
        at = np.concatenate([enter, leave, event_at])
        order = np.argsort(whose * np.intp(steps + 1) + at, kind="stable")
        self.steps = steps
        self._enter, self._leave, self._order, self._at = enter, leave, order, at[order]
        self._first = np.flatnonzero(np.diff(whose[order], prepend=-1))
        self.count = int(self._first.size)

    def products(self, one: Influence, other: Influence) -> NDArray[np.float64]:
        """Give the sum over clusters of the product of two influences, at each step; shape (m,)."""
        slope, other_slope = _summed(one.slope), _summed(other.slope)
        level, units = self._level(one, slope), self._units(one)
        same = other is one
        other_level = level if same else self._level(other, other_slope)
        other_units = units if same else self._units(other)
        constant = self._running(level * other_level)
        first = self._running(level * other_units)
        second = first if same else self._running(other_level * units)
        square = self._running(units * other_units)
        slope, other_slope = slope[1:], other_slope[1:]
        return constant - first * other_slope - second * slope + square * slope * other_slope

    def totals(self, influence: Influence) -> NDArray[np.float64]:
        """Give the influence of each cluster over all steps, shape (count,)."""
        moved = self._moved(influence, _summed(influence.slope))
        return np.add.reduceat(moved, self._first).astype(np.float64)

    def _moved(self, influence: Influence, slope: NDArray[np.float64]) -> NDArray[np.float64]:
        came, went = slope[self._enter], -slope[self._leave]
        if influence.units is not None:
            came, went = came * influence.units, went * influence.units
        ordered: NDArray[np.float64] = np.concatenate([came, went, influence.jump])[self._order]
        return ordered

    def _level(self, influence: Influence, slope: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give ``A_c + units * slope`` after each change, in the order of clusters and steps."""
        level = np.cumsum(self._moved(influence, slope))
        before = np.concatenate([[0.0], level])[self._first]
        sizes = np.diff(self._first, append=level.size)
        return np.asarray(level - np.repeat(before, sizes), dtype=np.float64)

    def _units(self, influence: Influence) -> NDArray[np.float64]:
        """Give the units at risk after each change; none is left at the end of a cluster."""
        each = np.ones(self._enter.size) if influence.units is None else influence.units
        change = np.zeros(self._order.size)
        change[: each.size], change[each.size : 2 * each.size] = each, -each
        return np.cumsum(change[self._order])

    def _running(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Give the sum over clusters of their latest value, at each step."""
        change = np.diff(values, prepend=0.0)
        change[self._first] = values[self._first]
        return np.cumsum(np.bincount(self._at, change, minlength=self.steps + 1)[: self.steps])


def _summed(slope: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.concatenate([[0.0], np.cumsum(slope)])
