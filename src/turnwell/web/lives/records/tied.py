"""Rows tied to one another: each stay to its handpiece and office, in the order of the lives."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.web.lives.records.moments import starts_of_days
from turnwell.web.lives.records.rules import Stays, Watch, watched
from turnwell.web.lives.records.snapshot import Snapshot
from turnwell.web.lives.records.tables import UNKNOWN, Handpieces, Jobs, Offices, Whole, Words

__all__ = ["Tied", "tied"]


@dataclass(frozen=True, slots=True, eq=False)
class Tied:
    """All stays, ordered by handpiece and taking in, with what the rule says of each.

    Parameters
    ----------
    now_s : int
        Seconds from 1970-01-01 UTC.
    words : Words
    offices : Offices
    handpieces : Handpieces
    jobs : Jobs
        In the order of the lives, not of their keys.
    handpiece, office : array of int, shape (jobs,)
        Place of each job's handpiece and of its stay's office in the tables.
    present : array of int, shape (handpieces,)
        Place of the present office.
    watch : Watch
    since_s : array of int, shape (handpieces,)
        Begin of the day it went into service, or `UNKNOWN`.
    counted_s : array of int, shape (handpieces,)
        End of the day its cycles were counted, or `UNKNOWN`.
    """

    now_s: int
    words: Words
    offices: Offices
    handpieces: Handpieces
    jobs: Jobs
    handpiece: NDArray[np.intp]
    office: NDArray[np.intp]
    present: NDArray[np.intp]
    watch: Watch
    since_s: Whole
    counted_s: Whole

    @property
    def settled(self) -> NDArray[np.int16]:
        """Place of each job's settled cause in `Words.causes`, -1 without one."""
        return self.jobs.cause


def tied(snapshot: Snapshot, now_s: int) -> Tied:
    """Tie the rows of a snapshot, as seen at a moment."""
    handpieces, offices = snapshot.handpieces, snapshot.offices
    place = handpieces.places_of(snapshot.jobs.handpiece)
    order = np.lexsort((snapshot.jobs.taken_in_s, place))
    jobs, place = snapshot.jobs.chosen(order), place[order]
    office = offices.places_of(jobs.office)
    present = offices.places_of(handpieces.office)
    zone = offices.zone[present]

    def day_start(days: Whole, later: int = 0) -> Whole:
        return starts_of_days(
            np.where(days == UNKNOWN, UNKNOWN, days + later), zone, snapshot.words.zones
        )

    counted = day_start(handpieces.counted_day, 1)
    retired = day_start(handpieces.retired_day, 1)
    stays = Stays(place, jobs.taken_in_s, jobs.ended_s, jobs.reason, jobs.stage)
    until = np.where(retired == UNKNOWN, now_s, np.minimum(retired, now_s))
    is_off = ~offices.is_active[present]
    if is_off.any():
        last = _last_seen(snapshot, stays, office)
        until[is_off] = np.minimum(until, last)[is_off]
    return Tied(
        now_s=now_s,
        words=snapshot.words,
        offices=offices,
        handpieces=handpieces,
        jobs=jobs,
        handpiece=place,
        office=office,
        present=present,
        watch=watched(stays, counted_s=counted, until_s=until),
        since_s=day_start(handpieces.since_day),
        counted_s=counted,
    )


def _last_seen(snapshot: Snapshot, stays: Stays, office: NDArray[np.intp]) -> Whole:
    """Give when each handpiece was last seen: a stay of its own, or anything at its office."""
    offices, visits = snapshot.offices, snapshot.visits
    seen = np.maximum(stays.taken_in_s, stays.ended_s)
    there = np.full(offices.count, UNKNOWN, dtype=np.int64)
    np.maximum.at(there, office, seen)
    visited = offices.places_of(visits.office)
    ends = starts_of_days(visits.on_day + 1, offices.zone[visited], snapshot.words.zones)
    np.maximum.at(there, visited, ends)
    last = there[offices.places_of(snapshot.handpieces.office)]
    np.maximum.at(last, stays.handpiece, seen)
    return last
