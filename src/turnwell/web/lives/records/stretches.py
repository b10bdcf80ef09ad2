"""Times at risk and returns of the offices' own handpieces; those on loan are left out."""

from dataclasses import dataclass, fields
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.web.lives.records.rules import UNREPAIRED
from turnwell.web.lives.records.tables import Whole
from turnwell.web.lives.records.tied import Tied

__all__ = ["Returns", "Rows", "Stretches", "returns_of", "stretches_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Arrays of one length."""

    def chosen(self, rows: ArrayLike) -> Self:
        """Give some of the rows, by a mask or by their places."""
        kept = np.asarray(rows)
        return type(self)(*(getattr(self, column.name)[kept] for column in fields(self)))


@dataclass(frozen=True, slots=True, eq=False)
class Stretches(Rows):
    """Times at risk, ordered by handpiece and time.

    Parameters
    ----------
    handpiece : array of int
        Place in the table of handpieces.
    office : array of int
        Place in the table of offices: that of the stay that ends the stretch, the present one of
        the handpiece for its last.
    kind : array of int
        Place of its class in `ShopRecords.class_keys`.
    start_s, stop_s : array of int
        Seconds from 1970-01-01 UTC; of no length where it came back within the second.
    ends_in_return : array of bool
    job : array of int
        Primary key of the job that ends it; -1 where none does.
    follows_on : array of bool
        Whether only a stay at the bench lies between it and the one before it, of the same
        handpiece and office: not a hand-back unrepaired, nor a move.
    """

    handpiece: NDArray[np.intp]
    office: NDArray[np.intp]
    kind: NDArray[np.int16]
    start_s: Whole
    stop_s: Whole
    ends_in_return: NDArray[np.bool_]
    job: Whole
    follows_on: NDArray[np.bool_]

    @property
    def count(self) -> int:
        """How many stretches."""
        return int(self.start_s.size)


@dataclass(frozen=True, slots=True, eq=False)
class Returns(Rows):
    """Returns, ordered by time.

    Parameters
    ----------
    job : array of int
        Primary key.
    handpiece, office : array of int
        Places in the tables.
    kind : array of int
        Place of the class in `ShopRecords.class_keys`.
    moment_s : array of int
        Taken in, seconds from 1970-01-01 UTC.
    cause : array of int
        Place in `ShopRecords.cause_keys`, -1 where none is settled.
    cost : array of float
        Price with tax agreed to, not a number where none was, or it went back unrepaired.
    currency : array of int
        Place in `ShopRecords.currencies`, -1 without a cost.
    previous_job : array of int
        Primary key of the handpiece's stay before it, -1 where it had none.
    """

    job: Whole
    handpiece: NDArray[np.intp]
    office: NDArray[np.intp]
    kind: NDArray[np.int16]
    moment_s: Whole
    cause: NDArray[np.int16]
    cost: NDArray[np.float64]
    currency: NDArray[np.int16]
    previous_job: Whole

    @property
    def count(self) -> int:
        """How many returns."""
        return int(self.job.size)


def stretches_of(tied: Tied) -> Stretches:
    """Give all times at risk."""
    watch, own = tied.watch, ~tied.handpieces.is_loan
    before = np.flatnonzero(
        ((watch.stop_s > watch.start_s) | watch.is_return) & own[tied.handpiece]
    )
    after = np.flatnonzero((watch.open_stop_s > watch.open_start_s) & own)
    handpiece = np.concatenate([tied.handpiece[before], after])
    start = np.concatenate([watch.start_s[before], watch.open_start_s[after]])
    order = np.lexsort((start, handpiece))
    handpiece, start = handpiece[order], start[order]
    office = np.concatenate([tied.office[before], tied.present[after]])[order]
    # A stay that was taken in after observation ended does not end what was observed.
    is_seen = tied.jobs.taken_in_s[before] <= watch.until_s[tied.handpiece[before]]
    job = np.where(is_seen, tied.jobs.pk[before], -1)
    # Places of the stays that bound each: one before a stay follows on that stay's predecessor.
    bound = np.concatenate([before, np.full(after.size, -1)])[order]
    return Stretches(
        handpiece=handpiece,
        office=office,
        kind=tied.handpieces.kind[handpiece],
        start_s=start,
        stop_s=np.concatenate([watch.stop_s[before], watch.open_stop_s[after]])[order],
        ends_in_return=np.concatenate(
            [watch.is_return[before], np.zeros(after.size, dtype=np.bool_)]
        )[order],
        job=np.concatenate([job, np.full(after.size, -1)])[order],
        follows_on=_follows_on(tied, handpiece, office, bound),
    )


def _follows_on(
    tied: Tied, handpiece: NDArray[np.intp], office: NDArray[np.intp], bound: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Tell which stretches have only bench time in working order since the one before."""
    same = np.zeros(handpiece.size, dtype=np.bool_)
    same[1:] = (handpiece[1:] == handpiece[:-1]) & (office[1:] == office[:-1])
    unrepaired = np.cumsum(np.append(0, tied.jobs.stage == UNREPAIRED))
    # Stays that went home unrepaired up to each stretch; the open one lies after all of its own.
    stops = np.searchsorted(tied.handpiece, handpiece, side="right")
    so_far = unrepaired[np.where(bound >= 0, bound, stops)]
    same[1:] &= so_far[1:] == so_far[:-1]
    return same


def returns_of(tied: Tied) -> Returns:
    """Give all returns."""
    jobs = tied.jobs
    rows = np.flatnonzero(tied.watch.is_return & ~tied.handpieces.is_loan[tied.handpiece])
    rows = rows[np.argsort(jobs.taken_in_s[rows], kind="stable")]
    before = np.maximum(rows - 1, 0)
    has_before = (rows > 0) & (tied.handpiece[before] == tied.handpiece[rows])
    is_paid = (jobs.stage[rows] != UNREPAIRED) & np.isfinite(jobs.total[rows])
    return Returns(
        job=jobs.pk[rows],
        handpiece=tied.handpiece[rows],
        office=tied.office[rows],
        kind=tied.handpieces.kind[tied.handpiece[rows]],
        moment_s=jobs.taken_in_s[rows],
        cause=jobs.cause[rows],
        cost=np.where(is_paid, jobs.total[rows], np.nan),
        currency=np.where(is_paid, jobs.currency[rows], -1),
        previous_job=np.where(has_before, jobs.pk[before], -1),
    )
