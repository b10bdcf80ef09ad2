"""Who was watched at each age at which something came back."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Clusters
from turnwell.life.lives import Histories

__all__ = ["Watch", "refuse_open_ends", "watch_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Watch:
    """The ages at which something came back, and how many units were watched there.

    Parameters
    ----------
    histories : Histories
        Those between `start` and `end`, cut to that stretch.
    start, end : float
        A stretch in which at least one unit is watched at every age.
    time : array, shape (m,)
        Distinct ages of return, rising.
    step : array of int
        Place in `time` of each return.
    weight, squares : array, shape (m,)
        What the returns at each age count together, and the sum of the squares of that.
    at_risk : array of float, shape (m,)
        How many units were watched there.
    """

    histories: Histories
    start: float
    end: float
    time: NDArray[np.float64]
    step: NDArray[np.intp]
    weight: NDArray[np.float64]
    squares: NDArray[np.float64]
    at_risk: NDArray[np.float64]

    @property
    def whole(self) -> NDArray[np.float64]:
        """Ends, rising, of the units watched from the start on."""
        kept = self.histories
        return np.sort(kept.stop[kept.start <= self.start])

    def clusters(self, cluster: NDArray[np.intp]) -> Clusters:
        """Give the clusters of the units, told by a code for each of them."""
        kept = self.histories
        return Clusters(
            cluster,
            np.searchsorted(self.time, kept.start, side="right").astype(np.intp),
            np.searchsorted(self.time, kept.stop, side="right").astype(np.intp),
            cluster[kept.unit],
            self.step,
            steps=self.time.size,
        )


def watch_of(
    histories: Histories, *, start: float | None = None, end: float | None = None
) -> Watch:
    """Count who was watched at each age of a return, as long as somebody is.

    Parameters
    ----------
    histories : Histories
    start : float or None
        Age to count from; the first start where None.
    end : float or None
        Age to count to, where somebody is watched that long.

    Raises
    ------
    InputError
        If no unit is watched beyond start, or end does not lie after it.
    """
    first = float(histories.start.min()) if start is None else float(start)
    if not (histories.stop > first).any():
        raise InputError(f"no unit is watched beyond start {first:g}; count from an earlier age")
    first = max(first, float(histories.start[histories.stop > first].min()))
    last = _end_of_watch(histories, first)
    last = last if end is None else min(last, float(end))
    if last <= first:
        raise InputError(f"end {last:g} does not lie after start {first:g}")
    kept = _cut(histories, first, last)
    is_new = np.diff(kept.at, prepend=-1.0) > 0.0
    time = kept.at[is_new]
    step = (np.cumsum(is_new) - 1).astype(np.intp)
    here = np.searchsorted(np.sort(kept.start), time, side="left")
    gone = np.searchsorted(np.sort(kept.stop), time, side="left")
    return Watch(
        histories=kept,
        start=first,
        end=last,
        time=time,
        step=step,
        weight=_per_step(step, kept.weight, time.size),
        squares=_per_step(step, kept.weight**2, time.size),
        at_risk=(here - gone).astype(np.float64),
    )


def refuse_open_ends(histories: Histories) -> None:
    """Refuse a unit whose watch does not end by a return, where all are said to."""
    last = np.zeros(histories.count)
    np.maximum.at(last, histories.unit, histories.at)
    wrong = np.flatnonzero(last < histories.stop)
    if wrong.size:
        raise InputError(
            f"the watch of unit {int(wrong[0]) + 1} does not end by a return; leave "
            "failure_terminated out"
        )


def _per_step(
    step: NDArray[np.intp], values: NDArray[np.float64], steps: int
) -> NDArray[np.float64]:
    return np.bincount(step, values, minlength=steps).astype(np.float64)


def _end_of_watch(histories: Histories, first: float) -> float:
    """Give the first age, after that one, beyond which nobody is watched for a while."""
    reaching = histories.stop > first
    order = np.argsort(histories.start[reaching], kind="stable")
    starts = histories.start[reaching][order]
    latest = np.maximum.accumulate(histories.stop[reaching][order])
    gaps = np.flatnonzero(starts[1:] > latest[:-1])
    return float(latest[gaps[0]] if gaps.size else latest[-1])


def _cut(histories: Histories, first: float, end: float) -> Histories:
    if histories.start.min() >= first and histories.stop.max() <= end:
        return histories
    kept = histories.chosen((histories.stop > first) & (histories.start < end))
    within = (kept.at > first) & (kept.at <= end)
    return Histories(
        np.maximum(kept.start, first),
        np.minimum(kept.stop, end),
        kept.unit[within],
        kept.at[within],
        kept.weight[within],
        kept.office,
        kept.clock,
    )
