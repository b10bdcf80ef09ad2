"""When a handpiece was under observation and at risk, and which stays are returns.

One rule for every page. A handpiece is observed from its first hand-back, or from the end of the
day its cycles were counted at a visit, whichever is first; what came in on that very day was taken
along at the visit or counted at the bench, and is its entry. It is at risk while observed and in
use: not at the bench, and not after a hand-back unrepaired, until it came in again and was handed
back in working order. A return is a stay for a fault that ends a time at risk. Observation ends
today, with the day it was retired, or, in an office off the round, with the last seen of it there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.web.jobs.models import Job, Stage
from turnwell.web.lives.records.tables import REASONS, STAGES, UNKNOWN, Whole

__all__ = ["Stays", "Watch", "watched"]

FAULT = REASONS.index(Job.Reason.FAULT)
TEST_ONLY = REASONS.index(Job.Reason.TEST_ONLY)
HANDED_BACK = STAGES.index(Stage.HANDED_BACK)
UNREPAIRED = STAGES.index(Stage.HANDED_BACK_UNREPAIRED)


@dataclass(frozen=True, slots=True, eq=False)
class Stays:
    """Stays of m handpieces, ordered by handpiece and taking in.

    Parameters
    ----------
    handpiece : array of int, shape (n,)
        Which of the m handpieces, 0 to m - 1.
    taken_in_s, ended_s : array of int, shape (n,)
        Seconds from 1970-01-01 UTC; `UNKNOWN` where it has not ended.
    reason, stage : array of int, shape (n,)
        Places in `REASONS` and `STAGES`.
    """

    handpiece: NDArray[np.intp]
    taken_in_s: Whole
    ended_s: Whole
    reason: NDArray[np.int8]
    stage: NDArray[np.int8]


@dataclass(frozen=True, slots=True, eq=False)
class Watch:
    """Times at risk: one before each of n stays, and one after the last of each of m handpieces.

    Parameters
    ----------
    observed_s : array of int, shape (m,)
        Since when it is observed; `UNKNOWN` where it is not yet.
    until_s : array of int, shape (m,)
        When observation ends.
    start_s, stop_s : array of int, shape (n,)
        Time at risk before the stay; of no length where there was none.
    is_return : array of bool, shape (n,)
    open_start_s, open_stop_s : array of int, shape (m,)
        Time at risk after the last stay; of no length where there is none.
    """

    observed_s: Whole
    until_s: Whole
    start_s: Whole
    stop_s: Whole
    is_return: NDArray[np.bool_]
    open_start_s: Whole
    open_stop_s: Whole


def watched(stays: Stays, *, counted_s: Whole, until_s: Whole) -> Watch:
    """Give the times at risk and the returns of some handpieces.

    Parameters
    ----------
    stays : Stays
        All stays of these handpieces.
    counted_s : array of int, shape (m,)
        End of the day its cycles were counted; `UNKNOWN` where nobody counted.
    until_s : array of int, shape (m,)
        End of observation.
    """
    place = stays.handpiece
    moments = (until_s, stays.taken_in_s, stays.ended_s)
    latest = max(int(each.max(initial=0)) for each in moments) + 1
    ended = np.where(stays.ended_s == UNKNOWN, latest, stays.ended_s)
    observed = np.where(counted_s == UNKNOWN, latest, counted_s)
    np.minimum.at(observed, place, ended)
    last_end, left_s = _last_ends(place, ended, observed)
    is_broken, is_left_broken = _broken(stays, until_s.size)
    stop = np.minimum(stays.taken_in_s, until_s[place])
    is_at_risk = ~is_broken & (stop >= last_end)
    is_return = is_at_risk & (stays.reason == FAULT) & (stays.taken_in_s <= until_s[place])
    open_start = np.where(is_left_broken, until_s, np.minimum(left_s, until_s))
    return Watch(
        observed_s=np.where(observed >= latest, UNKNOWN, observed),
        until_s=until_s,
        start_s=np.where(is_at_risk, last_end, stop),
        stop_s=stop,
        is_return=is_return,
        open_start_s=open_start,
        open_stop_s=until_s,
    )


def _last_ends(place: NDArray[np.intp], ended: Whole, observed: Whole) -> tuple[Whole, Whole]:
    """Give since when a handpiece could be at risk: before each stay, and after the last.

    The latest end of any earlier stay, since stays written down later may overlap; or the beginning
    of observation.
    """
    least = int(min(ended.min(initial=0), observed.min(initial=0)))
    span = int(max(ended.max(initial=0), observed.max(initial=0))) - least + 1
    # Lifted by its handpiece, no end reaches into the next one's: one running maximum does for all.
    lift = place * span - least
    latest = np.maximum.accumulate(ended + lift) - lift if place.size else ended
    is_first = np.diff(place, prepend=-1) != 0
    before = np.where(is_first, observed[place], np.maximum(np.roll(latest, 1), observed[place]))
    after = observed.copy()
    np.maximum.at(after, place, latest)
    return before, after


def _broken(stays: Stays, handpieces: int) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Tell whether it was out of order, handed back so: before each stay, and after the last.

    A test alone puts nothing in order.
    """
    place = stays.handpiece
    is_unrepaired = stays.stage == UNREPAIRED
    is_put_right = (stays.stage == HANDED_BACK) & (stays.reason != TEST_ONLY)
    rows = np.arange(place.size)
    told = np.maximum.accumulate(np.where(is_unrepaired | is_put_right, rows, -1))
    starts = np.searchsorted(place, np.arange(handpieces))
    told_before = np.roll(told, 1)
    told_before[:1] = -1
    broken_rows = np.append(is_unrepaired, False)  # the last for "not told"
    before = broken_rows[np.where(told_before >= starts[place], told_before, -1)]
    stops = np.searchsorted(place, np.arange(handpieces), side="right")
    last = np.append(told, -1)[stops - 1]
    return before, broken_rows[np.where((stops > starts) & (last >= starts), last, -1)]
