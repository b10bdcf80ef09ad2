"""Repairs that are still under warranty and at work."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.web.lives.records.lives import Ends, is_repair
from turnwell.web.lives.records.moments import DAY_S
from turnwell.web.lives.records.rules import HANDED_BACK
from turnwell.web.lives.records.tables import Whole
from turnwell.web.lives.records.tied import Tied

__all__ = ["Warranties", "warranties_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Warranties:
    """Handpieces at work under the warranty of a repair, n of them, one row each.

    Parameters
    ----------
    job, handpiece, office : array of int, shape (n,)
        Primary keys: of the repair whose warranty runs longest, and where the handpiece is.
    repair_job : array of int, shape (n,)
        Primary key of the last repair, mostly the same: what runs since then is what may fail.
    kind : array of int, shape (n,)
        Place of the class in `ShopRecords.class_keys`.
    option : array of int, shape (n,)
        Place in `KINDS` of what was agreed to at the last repair, -1 where nothing was.
    age_days : array, shape (n,)
        Days at risk since the last repair.
    left_days : array, shape (n,)
        Of the warranty, > 0.
    price : array, shape (n,)
        With tax, as agreed to: what a repair under warranty forgoes.
    currency : array of int, shape (n,)
        Place in `ShopRecords.currencies`.
    """

    job: Whole
    handpiece: Whole
    office: Whole
    repair_job: Whole
    kind: NDArray[np.int16]
    option: NDArray[np.int8]
    age_days: NDArray[np.float64]
    left_days: NDArray[np.float64]
    price: NDArray[np.float64]
    currency: NDArray[np.int16]

    @property
    def count(self) -> int:
        """How many handpieces."""
        return int(self.handpiece.size)


def warranties_of(tied: Tied, ends_of_lives: Ends) -> Warranties:
    """Give what is under warranty now."""
    jobs, watch = tied.jobs, tied.watch
    is_at_work = (watch.open_stop_s > watch.open_start_s) & (watch.until_s == tied.now_s)
    is_at_work &= ~tied.handpieces.is_loan
    given = (jobs.stage == HANDED_BACK) & (jobs.option >= 0) & (jobs.warranty_months > 0)
    rows = np.flatnonzero(given & is_at_work[tied.handpiece])
    ends = _months_later(jobs.ended_s[rows], jobs.warranty_months[rows])
    runs = ends > tied.now_s
    rows, ends = rows[runs], ends[runs]
    # The one that runs longest of each handpiece: the last in this order.
    order = np.lexsort((ends, tied.handpiece[rows]))
    rows, ends = rows[order], ends[order]
    is_last = np.append(np.diff(tied.handpiece[rows]) != 0, True)[: rows.size]
    rows, ends = rows[is_last], ends[is_last]
    handpiece = tied.handpiece[rows]
    repair = _last_repairs(tied, ends_of_lives)[handpiece]
    behind = ends_of_lives.rows[handpiece + 1]
    ran = ends_of_lives.run_days[behind] - ends_of_lives.run_days[repair + 1]
    return Warranties(
        job=jobs.pk[rows],
        handpiece=tied.handpieces.pk[handpiece],
        office=tied.offices.pk[tied.present[handpiece]],
        repair_job=jobs.pk[repair],
        kind=tied.handpieces.kind[handpiece],
        option=jobs.option[repair],
        age_days=ran + ends_of_lives.open_days[handpiece],
        left_days=(ends - tied.now_s) / DAY_S,
        price=jobs.total[rows],
        currency=jobs.currency[rows],
    )


def _last_repairs(tied: Tied, ends_of_lives: Ends) -> NDArray[np.intp]:
    """Give the place of the last repair of each handpiece; the one of another where it has none."""
    last = np.maximum.accumulate(np.where(is_repair(tied), np.arange(tied.jobs.count), 0))
    return np.append(last, 0)[ends_of_lives.rows[1:] - 1]


def _months_later(moment_s: Whole, months: NDArray[np.int16]) -> Whole:
    """Give the same day and time some calendar months later, the last of a shorter month."""
    if moment_s.size == 0:
        return moment_s
    day = (moment_s // DAY_S).astype("datetime64[D]")
    month = day.astype("datetime64[M]")
    later = month + months.astype("timedelta64[M]")
    last = (later + 1).astype("datetime64[D]") - 1
    shown = np.minimum(later.astype("datetime64[D]") + (day - month.astype("datetime64[D]")), last)
    return np.asarray(shown.astype(np.int64) * DAY_S + moment_s % DAY_S)
