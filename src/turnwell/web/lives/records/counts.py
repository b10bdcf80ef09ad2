"""Care cycles of a handpiece at a moment, from what was counted and when.

Nothing when it went into service; counts at visits and at taking in. Between two of them the count
grows evenly; none is added at the bench. After the last it goes on at the handpiece's own pace. A
count below an earlier one contradicts it, and that handpiece is not counted at all.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.web.lives.records.moments import DAY_S
from turnwell.web.lives.records.tables import UNKNOWN, Whole
from turnwell.web.lives.records.tied import Tied

__all__ = ["Counts", "counts_of"]

# Two counts closer than this say nothing of the pace (common practice).
SHORTEST_DAYS = 14.0


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """Counts of m handpieces, ordered by handpiece and time.

    Parameters
    ----------
    handpiece : array of int, shape (n,)
        Place in the table of handpieces.
    moment_s : array of int, shape (n,)
    cycles : array, shape (n,)
    days, grown : array, shape (m,)
        From the first count of each to its last: days, and cycles; not a number where that says
        nothing of its pace.
    contradicted : array of int
        Places of the handpieces whose counts contradict one another.
    """

    handpiece: NDArray[np.intp]
    moment_s: Whole
    cycles: NDArray[np.float64]
    days: NDArray[np.float64]
    grown: NDArray[np.float64]
    contradicted: NDArray[np.intp]

    @property
    def pace(self) -> NDArray[np.float64]:
        """Cycles a day of each handpiece, not a number where its counts do not tell."""
        return self.grown / self.days

    def at(self, handpiece: NDArray[np.intp], moment_s: Whole) -> NDArray[np.float64]:
        """Give the cycles of some handpieces at a moment each; not a number where unknown."""
        if self.moment_s.size == 0:
            return np.full(handpiece.shape, np.nan)
        least = min(int(self.moment_s.min()), int(moment_s.min(initial=0)))
        span = max(int(self.moment_s.max()), int(moment_s.max(initial=0))) - least + 1
        mine = self.handpiece * span + (self.moment_s - least)
        place = np.searchsorted(mine, handpiece * span + (moment_s - least), side="right") - 1
        left = np.maximum(place, 0)
        has_left = (place >= 0) & (self.handpiece[left] == handpiece)
        right = np.minimum(left + 1, mine.size - 1)
        has_right = (right > left) & (self.handpiece[right] == handpiece)
        passed = (moment_s - self.moment_s[left]) / DAY_S
        gap = np.where(has_right, (self.moment_s[right] - self.moment_s[left]) / DAY_S, 1.0)
        within = (self.cycles[right] - self.cycles[left]) / np.maximum(gap, 1.0 / DAY_S)
        pace = np.where(has_right, within, self.pace[handpiece])
        grown = np.where(passed > 0.0, pace * passed, 0.0)
        return np.where(has_left, self.cycles[left] + grown, np.nan)


def counts_of(tied: Tied) -> Counts:
    """Gather what was counted."""
    handpieces, jobs = tied.handpieces, tied.jobs
    new = np.flatnonzero(tied.since_s != UNKNOWN)
    counted = np.flatnonzero((tied.counted_s != UNKNOWN) & (handpieces.cycles != UNKNOWN))
    taken = np.flatnonzero(jobs.cycles != UNKNOWN)
    ended = taken[jobs.ended_s[taken] != UNKNOWN]
    handpiece = np.concatenate([new, counted, tied.handpiece[taken], tied.handpiece[ended]])
    moment = np.concatenate(
        [
            tied.since_s[new],
            tied.counted_s[counted],
            jobs.taken_in_s[taken],
            jobs.ended_s[ended],
        ]
    )
    cycles = np.concatenate(
        [
            np.zeros(new.size),
            handpieces.cycles[counted],
            jobs.cycles[taken],
            jobs.cycles[ended],
        ]
    )
    order = np.lexsort((cycles, moment, handpiece))
    return _without_contradictions(
        handpiece[order], moment[order], cycles[order].astype(np.float64), handpieces.count
    )


def _without_contradictions(
    handpiece: NDArray[np.intp], moment: Whole, cycles: NDArray[np.float64], count: int
) -> Counts:
    same = np.append(False, handpiece[1:] == handpiece[:-1])[: handpiece.size]
    falls = np.append(False, cycles[1:] < cycles[:-1])[: handpiece.size]
    is_wrong = np.zeros(count, dtype=np.bool_)
    is_wrong[handpiece[same & falls]] = True
    kept = ~is_wrong[handpiece]
    handpiece, moment, cycles = handpiece[kept], moment[kept], cycles[kept]
    first = np.searchsorted(handpiece, np.arange(count))
    last = np.searchsorted(handpiece, np.arange(count), side="right") - 1
    days, grown = np.full(count, np.nan), np.full(count, np.nan)
    several = np.flatnonzero(last > first)
    days[several] = (moment[last[several]] - moment[first[several]]) / DAY_S
    grown[several] = cycles[last[several]] - cycles[first[several]]
    too_short = ~(days >= SHORTEST_DAYS)
    days[too_short] = grown[too_short] = np.nan
    return Counts(handpiece, moment, cycles, days, grown, np.flatnonzero(is_wrong))
