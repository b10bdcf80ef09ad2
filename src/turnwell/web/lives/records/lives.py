"""Lives after a repair, and lives from new, of the offices' own handpieces.

A life ends by the next return. It is censored where the handpiece last ran: today, the end of its
observation, a planned service, a stay of another kind with a repair agreed to, a hand-back
unrepaired. A test alone ends no life, and days at the bench are no days of it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life import NO_CAUSE, Clock, Lives
from turnwell.web.jobs.models import Job
from turnwell.web.lives.records.counts import Counts
from turnwell.web.lives.records.moments import DAY_S
from turnwell.web.lives.records.rules import FAULT, HANDED_BACK, UNREPAIRED
from turnwell.web.lives.records.tables import REASONS, UNKNOWN, Whole
from turnwell.web.lives.records.tied import Tied

__all__ = ["Ends", "ShopLives", "ends_of", "is_repair", "lives_after_repair", "lives_from_new"]

PLANNED = REASONS.index(Job.Reason.PLANNED)
# Ages are in cycles where so many of the lives can be counted at both ends.
ENOUGH_COUNTED = 0.9
SECOND_DAYS = 1.0 / DAY_S


@dataclass(frozen=True, slots=True, eq=False)
class ShopLives:
    """Lives, and what they were made of.

    Parameters
    ----------
    lives : Lives or None
        n lives, their offices as places in the table; None where there is none.
    clock : Clock
        Cycles where 9 in 10 can be counted at both ends, else days.
    handpiece, office : array of int, shape (n,)
        Primary keys; the office is that of the stay that ended the life, the present one else.
    job : array of int, shape (n,)
        Primary key of the job the life began with; -1 where it began with the handpiece.
    end_job : array of int, shape (n,)
        Primary key of the job that ended it; -1 where it goes on or was last seen running.
    uncounted : array of int
        Keys of handpieces left out because their cycles are not known at both ends.
    of_unknown_age : array of int
        Keys of handpieces left out of the lives from new: nobody knows since when they serve.
    seen_too_late : array of int
        Keys of handpieces left out of the lives from new: they had failed or been serviced before
        they came under observation.
    """

    lives: Lives | None
    clock: Clock
    handpiece: Whole
    office: Whole
    job: Whole
    end_job: Whole
    uncounted: Whole
    of_unknown_age: Whole
    seen_too_late: Whole

    @property
    def count(self) -> int:
        """How many lives."""
        return int(self.handpiece.size)


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """Which stay ends what ran before it; n stays of m handpieces.

    Parameters
    ----------
    following : array of int, shape (n,)
        Place of the next stay of the same handpiece that ends a life; n where there is none.
    first : array of int, shape (m,)
        Place of the first stay of each handpiece that ends a life; n where there is none.
    run_days : array, shape (n + 1,)
        Days at risk of all handpieces before each stay, added up.
    open_days : array, shape (m,)
        Days at risk after the last stay of each handpiece.
    rows : array of int, shape (m + 1,)
        Where the stays of each handpiece begin, and behind the last.
    """

    following: NDArray[np.intp]
    first: NDArray[np.intp]
    run_days: NDArray[np.float64]
    open_days: NDArray[np.float64]
    rows: NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class _Begun:
    """Lives by their handpiece, first stay or -1, last stay or -1, ages in days and moments."""

    handpiece: NDArray[np.intp]
    job: NDArray[np.intp]
    end: NDArray[np.intp]
    entry_days: NDArray[np.float64]
    exit_days: NDArray[np.float64]
    begin_s: Whole
    entry_s: Whole
    exit_s: Whole


def ends_of(tied: Tied) -> Ends:
    """Find the stays that end lives, and add up the days at risk."""
    jobs, watch, count = tied.jobs, tied.watch, tied.jobs.count
    is_end = (
        (jobs.reason == FAULT)
        | (jobs.reason == PLANNED)
        | (jobs.stage == UNREPAIRED)
        | (jobs.option >= 0)
    )
    rows = np.searchsorted(tied.handpiece, np.arange(tied.handpieces.count + 1))
    ahead = np.append(np.where(is_end, np.arange(count), count), count)
    ahead = np.minimum.accumulate(ahead[::-1])[::-1]
    behind = rows[1:]
    first = np.where(ahead[rows[:-1]] < behind, ahead[rows[:-1]], count)
    after = ahead[1:]
    following = np.where(after < behind[tied.handpiece], after, count)
    lasted = (watch.stop_s - watch.start_s) / DAY_S
    return Ends(
        following=following,
        first=first,
        run_days=np.append(0.0, np.cumsum(lasted)),
        open_days=(watch.open_stop_s - watch.open_start_s) / DAY_S,
        rows=rows,
    )


def is_repair(tied: Tied) -> NDArray[np.bool_]:
    """Tell which stays were repairs: handed back in order, for a fault, planned or agreed to."""
    jobs = tied.jobs
    is_for_it = (jobs.reason == FAULT) | (jobs.reason == PLANNED) | (jobs.option >= 0)
    return np.asarray((jobs.stage == HANDED_BACK) & is_for_it)


def lives_after_repair(
    tied: Tied, counts: Counts, ends: Ends, *, option: int | None, handpieces: NDArray[np.bool_]
) -> ShopLives:
    """Give the lives after repairs.

    Parameters
    ----------
    option : int or None
        Place in `KINDS` of the option agreed to; None for every fault or planned stay handed back
        in order.
    handpieces : array of bool
        Which handpieces.
    """
    jobs = tied.jobs
    chosen = is_repair(tied) & (handpieces & ~tied.handpieces.is_loan)[tied.handpiece]
    if option is not None:
        chosen &= jobs.option == option
    job = np.flatnonzero(chosen)
    handpiece = tied.handpiece[job]
    end = ends.following[job]
    goes_on = end == jobs.count
    stop = np.where(goes_on, ends.rows[handpiece + 1], end + 1)
    ran = ends.run_days[stop] - ends.run_days[job + 1]
    ran += np.where(goes_on, ends.open_days[handpiece], 0.0)
    begin = jobs.ended_s[job]
    return _made(
        tied,
        counts,
        _Begun(
            handpiece=handpiece,
            job=job,
            end=np.where(goes_on, -1, end),
            entry_days=np.zeros(job.size),
            exit_days=ran,
            begin_s=begin,
            entry_s=begin,
            exit_s=_exit_s(tied, handpiece, end),
        ),
    )


def lives_from_new(
    tied: Tied, counts: Counts, ends: Ends, *, handpieces: NDArray[np.bool_]
) -> ShopLives:
    """Give the lives of handpieces from new to their first return, seen from observation on."""
    jobs, watch = tied.jobs, tied.watch
    mine = handpieces & ~tied.handpieces.is_loan & (watch.observed_s != UNKNOWN)
    is_aged = tied.since_s != UNKNOWN
    end = ends.first
    has_end = end < jobs.count
    end_s = jobs.taken_in_s[np.minimum(end, jobs.count - 1)] if jobs.count else end
    is_late = has_end & (end_s < watch.observed_s)
    rows = np.flatnonzero(mine & is_aged & ~is_late)
    end, goes_on = end[rows], ~has_end[rows]
    stop = np.where(goes_on, ends.rows[rows + 1], end + 1)
    ran = ends.run_days[stop] - ends.run_days[ends.rows[rows]]
    ran += np.where(goes_on, ends.open_days[rows], 0.0)
    entry_s = np.maximum(watch.observed_s[rows], tied.since_s[rows])
    entry = (entry_s - tied.since_s[rows]) / DAY_S
    begun = _Begun(
        handpiece=rows,
        job=np.full(rows.size, -1),
        end=np.where(goes_on, -1, end),
        entry_days=entry,
        exit_days=entry + ran,
        begin_s=tied.since_s[rows],
        entry_s=entry_s,
        exit_s=_exit_s(tied, rows, end),
    )
    keys = tied.handpieces.pk
    return _made(
        tied,
        counts,
        begun,
        of_unknown_age=keys[mine & ~is_aged],
        seen_too_late=keys[mine & is_aged & is_late],
    )


def _exit_s(tied: Tied, handpiece: NDArray[np.intp], end: NDArray[np.intp]) -> Whole:
    """Give when each life ended: the taking in, or the end of observation."""
    until = tied.watch.until_s[handpiece]
    if tied.jobs.count == 0:
        return until
    taken = tied.jobs.taken_in_s[np.minimum(end, tied.jobs.count - 1)]
    return np.where(end < tied.jobs.count, np.minimum(taken, until), until)


def _made(
    tied: Tied,
    counts: Counts,
    begun: _Begun,
    *,
    of_unknown_age: Whole | None = None,
    seen_too_late: Whole | None = None,
) -> ShopLives:
    """Choose the clock and make the lives."""
    none = np.zeros(0, dtype=np.int64)
    failed = (begun.end >= 0) & np.append(tied.watch.is_return, False)[begun.end]
    entry, exit_ = begun.entry_days, begun.exit_days
    # A return within the second of the hand-back is one all the same.
    exit_ = np.where(failed, np.maximum(exit_, entry + SECOND_DAYS), exit_)
    lasted = exit_ > entry
    since = counts.at(begun.handpiece, begun.begin_s)
    counted_entry = counts.at(begun.handpiece, begun.entry_s) - since
    counted_exit = counts.at(begun.handpiece, begun.exit_s) - since
    is_counted = np.isfinite(counted_entry) & np.isfinite(counted_exit)
    clock, kept, uncounted = Clock.DAYS, lasted, none
    if lasted.any() and np.mean(is_counted[lasted]) >= ENOUGH_COUNTED:
        clock = Clock.CYCLES
        entry = counted_entry
        exit_ = np.where(failed, np.maximum(counted_exit, entry + 1.0), counted_exit)
        kept = lasted & is_counted & (exit_ > entry)
        uncounted = np.unique(tied.handpieces.pk[begun.handpiece[lasted & ~is_counted]])
    rows = np.flatnonzero(kept)
    handpiece, job, end = begun.handpiece[rows], begun.job[rows], begun.end[rows]
    office = np.where(end >= 0, np.append(tied.office, 0)[end], tied.present[handpiece])
    cause = np.where(failed[rows], np.append(tied.jobs.cause, NO_CAUSE)[end], NO_CAUSE)
    keys = np.append(tied.jobs.pk, -1)
    lives = None
    if rows.size:
        lives = Lives.observed(
            exit_[rows],
            failed[rows],
            entry=entry[rows],
            cause=cause.astype(np.intp),
            cause_names=tuple(tied.words.causes),
            office=office.astype(np.intp),
            clock=clock,
        )
    return ShopLives(
        lives=lives,
        clock=clock,
        handpiece=tied.handpieces.pk[handpiece],
        office=tied.offices.pk[office],
        job=keys[job],
        end_job=keys[end],
        uncounted=uncounted,
        of_unknown_age=none if of_unknown_age is None else of_unknown_age,
        seen_too_late=none if seen_too_late is None else seen_too_late,
    )
