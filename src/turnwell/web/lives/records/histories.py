"""Histories of returns in calendar time, one for each handpiece in each office.

For the curve alone the days at the bench between two times at risk are watched on: a handpiece is
one unit from its first day in an office to its last, so that the robust variance is over
handpieces. Rates use the exact time at risk (`tallies`). A hand-back unrepaired ends the unit, and
so does a move to another office; the handpiece goes on as a unit of its own.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Clock, Histories
from turnwell.web.lives.records.moments import DAY_S
from turnwell.web.lives.records.stretches import Returns, Stretches
from turnwell.web.lives.records.tables import Whole

__all__ = ["ShopHistories", "histories_of"]


@dataclass(frozen=True, slots=True, eq=False)
class ShopHistories:
    """Histories, and what they were made of.

    Parameters
    ----------
    histories : Histories or None
        k units and m returns, in days since `since_s`; None where nothing was watched.
    since_s, until_s : int
        Between which moments, seconds from 1970-01-01 UTC.
    handpiece, office : array of int, shape (k,)
        Primary keys of each unit.
    job : array of int, shape (m,)
        Primary key of each return's job, in the order of `histories.at`.
    uncosted : int
        Returns that count 0 because no price in `currency` was agreed to; 0 without costs.
    currency : str
        Of the costs; empty without.
    """

    histories: Histories | None
    since_s: int
    until_s: int
    handpiece: Whole
    office: Whole
    job: Whole
    uncosted: int = 0
    currency: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class _Units:
    """Runs of stretches: which each stretch belongs to, and the first and last row of each."""

    of: NDArray[np.intp]
    first: NDArray[np.intp]
    last: NDArray[np.intp]


def histories_of(
    stretches: Stretches, *, rows: NDArray[np.bool_], since_s: int, until_s: int
) -> tuple[Histories | None, NDArray[np.intp], NDArray[np.intp]]:
    """Give the histories of some stretches, with a row of each unit and the row of each return.

    Parameters
    ----------
    rows : array of bool
        Which stretches; whole runs that follow on one another.
    """
    chosen = stretches.chosen(rows)
    places = np.flatnonzero(rows)
    if chosen.count == 0:
        return None, places, places
    units = _units(chosen)
    start = np.maximum(chosen.start_s[units.first], since_s)
    stop = np.minimum(chosen.stop_s[units.last], until_s)
    kept = stop > start
    if not kept.any():
        return None, places[:0], places[:0]
    number = np.cumsum(kept) - 1
    ends = chosen.ends_in_return & kept[units.of]
    ends &= (chosen.stop_s > since_s) & (chosen.stop_s <= stop[units.of])
    returned = np.flatnonzero(ends)
    returned = returned[np.argsort(chosen.stop_s[returned], kind="stable")]
    # One that came back within the second of its hand-back did so a second later.
    moment = np.maximum(chosen.stop_s[returned], start[units.of[returned]] + 1)
    histories = Histories.of(
        (stop[kept] - since_s) / DAY_S,
        number[units.of[returned]],
        (moment - since_s) / DAY_S,
        start=(start[kept] - since_s) / DAY_S,
        office=chosen.office[units.first[kept]],
        clock=Clock.DAYS,
    )
    return histories, places[units.first[kept]], places[returned]


def _units(stretches: Stretches) -> _Units:
    begins = ~stretches.follows_on
    begins[0] = True
    first = np.flatnonzero(begins)
    return _Units(
        of=np.cumsum(begins) - 1, first=first, last=np.append(first[1:], stretches.count) - 1
    )


def with_costs(
    histories: Histories, jobs: Whole, returns: Returns, currency: int
) -> tuple[Histories, int]:
    """Let each return count its cost; gives how many have none in that currency beside it."""
    order = np.argsort(returns.job, kind="stable")
    at = order[np.searchsorted(returns.job, jobs, sorter=order)] if jobs.size else order[:0]
    is_known = returns.currency[at] == currency
    weight = np.where(is_known, returns.cost[at], 0.0)
    costed = Histories(
        histories.start,
        histories.stop,
        histories.unit,
        histories.at,
        weight,
        histories.office,
        histories.clock,
    )
    return costed, int(np.count_nonzero(~is_known))
