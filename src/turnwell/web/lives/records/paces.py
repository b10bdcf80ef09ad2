"""Care cycles a day, over some handpieces."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Estimate
from turnwell.web.lives.records.counts import Counts
from turnwell.web.lives.records.moments import DAY_S

__all__ = ["Pace", "pace_of", "pace_of_one"]

FEWEST = 3


@dataclass(frozen=True, slots=True)
class Pace:
    """Care cycles a day.

    Parameters
    ----------
    cycles_per_day : float
        All cycles over all days between the first and the last count of each handpiece.
    interval : Estimate or None
        The same with its 95 % interval, from the spread between handpieces, for one of them
        between its counts; None below three.
    handpieces : int
        How many it rests on.
    """

    cycles_per_day: float
    interval: Estimate | None
    handpieces: int


def pace_of(counts: Counts, rows: NDArray[np.bool_]) -> Pace | None:
    """Give the pace of some handpieces; None where no two counts tell."""
    kept = rows & np.isfinite(counts.days)
    if not kept.any():
        return None
    return _pace(counts.grown[kept], counts.days[kept], int(np.count_nonzero(kept)))


def pace_of_one(counts: Counts, handpiece: int) -> Pace | None:
    """Give the pace of one handpiece; None where no two counts tell."""
    if not np.isfinite(counts.days[handpiece]):
        return None
    rows = slice(*np.searchsorted(counts.handpiece, [handpiece, handpiece + 1]))
    days = np.diff(counts.moment_s[rows]) / DAY_S
    grown = np.diff(counts.cycles[rows])
    return _pace(grown[days > 0.0], days[days > 0.0], 1)


def _pace(grown: NDArray[np.float64], days: NDArray[np.float64], handpieces: int) -> Pace:
    """Give the ratio of two sums, with the interval of a ratio estimate [COCHRAN1977], 6.3."""
    ratio = float(grown.sum() / days.sum())
    if grown.size < FEWEST:
        return Pace(ratio, None, handpieces)
    from scipy.special import stdtrit

    count = grown.size
    spread = count / (count - 1) * float(np.sum((grown - ratio * days) ** 2))
    half = float(stdtrit(count - 1, 0.975)) * spread**0.5 / float(days.sum())
    return Pace(ratio, Estimate(ratio, max(ratio - half, 0.0), ratio + half), handpieces)
