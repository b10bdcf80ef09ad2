"""What the methods work on: lives until a failure, and histories of returns.

A *life* runs from an age at which the unit came under observation to its failure, or to the age at
which it was last known to run. A *history* is one unit watched from one age to another, with every
return in between.

References
----------
Late entry and censoring: [KLEINMOESCHBERGER2003], 3.2 to 3.4.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["NO_CAUSE", "Clock", "Histories", "Lives"]

# Code of a life that ended without a failure, or whose cause nobody settled.
NO_CAUSE = -1


class Clock(StrEnum):
    """What ages are counted in; named on every figure."""

    CYCLES = "cycles"
    DAYS = "days"


@dataclass(frozen=True, slots=True, eq=False)
class Lives:
    """Lives of n units, censored on either side, with late entry.

    Made by `observed` (failed or still running) and `between` (failed between two looks).

    Parameters
    ----------
    low, high : array, shape (n,)
        The failure lies in (low, high]: equal where its age is known, high infinite where the unit
        still ran at low, low 0 where it had failed before the first look. Ages in `clock`, >= 0.
    entry : array, shape (n,)
        Age from which the unit was under observation: 0 <= entry, below the age of its end.
    cause : array of int, shape (n,)
        Place in `cause_names` of what it failed of; `NO_CAUSE` where it did not, or none is known.
    cause_names : tuple of str
    office : array of int, shape (n,)
        Which office each belongs to, 0 to offices - 1; lives of one office may be alike.
    clock : Clock
    """

    low: NDArray[np.float64]
    high: NDArray[np.float64]
    entry: NDArray[np.float64]
    cause: NDArray[np.intp]
    office: NDArray[np.intp]
    cause_names: tuple[str, ...] = ()
    clock: Clock = Clock.DAYS

    @classmethod
    def observed(
        cls,
        exit: ArrayLike,
        failed: ArrayLike,
        *,
        entry: ArrayLike | None = None,
        cause: ArrayLike | None = None,
        cause_names: Sequence[str] = (),
        office: ArrayLike | None = None,
        clock: Clock = Clock.DAYS,
    ) -> "Lives":
        """Take lives that ended by a failure or were last seen running.

        Parameters
        ----------
        exit : array, shape (n,)
            Age at the end, finite, > 0.
        failed : array of bool, shape (n,)
            Whether the end was a failure.
        entry, cause, cause_names, office, clock
            As the fields; entry 0 and one office where not given.

        Raises
        ------
        InputError
            If there is no life, shapes differ, an age is not finite or below 0, or an end does not
            lie after its entry.

        Examples
        --------
        >>> lives = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])
        >>> lives.count, lives.failures
        (5, 4)
        """
        ends = _ages(exit, "exit")
        is_failed = _flags(failed, ends.size)
        high = np.where(is_failed, ends, np.inf)
        return cls._checked(
            ends, high, entry=entry, cause=cause, names=cause_names, office=office, clock=clock
        )

    @classmethod
    def between(
        cls,
        low: ArrayLike,
        high: ArrayLike,
        *,
        entry: ArrayLike | None = None,
        office: ArrayLike | None = None,
        clock: Clock = Clock.DAYS,
    ) -> "Lives":
        """Take lives whose failure lies between two looks; high infinite where none was seen.

        Raises
        ------
        InputError
            As for `observed`, or if high is below low.

        Examples
        --------
        >>> lives = Lives.between([0, 100, 200], [100, 250, np.inf])
        >>> lives.failures, lives.is_exact
        (2, False)
        """
        lows = _ages(low, "low")
        highs = np.asarray(high, dtype=np.float64).copy()
        if highs.shape != lows.shape or np.any(np.isnan(highs)) or np.any(highs < lows):
            raise InputError("high must be as long as low and nowhere below it; exchange the two")
        return cls._checked(
            lows, highs, entry=entry, cause=None, names=(), office=office, clock=clock
        )

    @classmethod
    def _checked(
        cls,
        low: NDArray[np.float64],
        high: NDArray[np.float64],
        *,
        entry: ArrayLike | None,
        cause: ArrayLike | None,
        names: Sequence[str],
        office: ArrayLike | None,
        clock: Clock,
    ) -> "Lives":
        count = low.size
        if count == 0:
            raise InputError("there is no life to read; give one row at least")
        entries = np.zeros(count) if entry is None else _ages(entry, "entry")
        if entries.size != count:
            raise InputError(f"entry has {entries.size} values for {count} lives; give one each")
        ends = np.where(np.isfinite(high), high, low)
        wrong = np.flatnonzero(ends <= entries)
        if wrong.size:
            at = int(wrong[0])
            raise InputError(
                f"life {at + 1} ends at {ends[at]:g}, not after its entry at {entries[at]:g}; "
                "correct one of the two"
            )
        causes = _codes(cause, count, "cause", least=NO_CAUSE, default=NO_CAUSE)
        if causes.max(initial=NO_CAUSE) >= len(names):
            raise InputError(
                f"a cause is number {int(causes.max())}, but {len(names)} causes are named"
            )
        offices = _codes(office, count, "office", least=0, default=0)
        return cls(low, high, entries, causes, offices, tuple(names), Clock(clock))

    @property
    def count(self) -> int:
        """How many lives."""
        return int(self.low.size)

    @property
    def is_failed(self) -> NDArray[np.bool_]:
        """Whether each ended by a failure, whenever that was."""
        return np.isfinite(self.high)

    @property
    def failures(self) -> int:
        """How many failed."""
        return int(np.count_nonzero(np.isfinite(self.high)))

    @property
    def exit(self) -> NDArray[np.float64]:
        """Age at the end, shape (n,); that of the later look where it lies between two."""
        return np.where(np.isfinite(self.high), self.high, self.low)

    @property
    def is_exact(self) -> bool:
        """True where no failure lies between two looks."""
        return bool(np.all(~np.isfinite(self.high) | (self.high == self.low)))

    @property
    def offices(self) -> int:
        """How many offices they come from."""
        return int(np.unique(self.office).size)

    def chosen(self, rows: ArrayLike) -> "Lives":
        """Give some of the lives, by a mask or by their places; one at least."""
        kept = np.asarray(rows)
        if np.count_nonzero(kept) == 0 and (kept.dtype == np.bool_ or kept.size == 0):
            raise InputError("no life is left; choose one at least")
        return Lives(
            self.low[kept],
            self.high[kept],
            self.entry[kept],
            self.cause[kept],
            self.office[kept],
            self.cause_names,
            self.clock,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Histories:
    """Returns of k units, each watched over one stretch; m returns in all.

    Parameters
    ----------
    start, stop : array, shape (k,)
        Ages (or moments) between which each was watched: 0 <= start < stop, finite.
    unit : array of int, shape (m,)
        Which unit came back, 0 to k - 1.
    at : array, shape (m,)
        When, in order: start < at <= stop of its unit.
    weight : array, shape (m,)
        What each return counts: 1, or its cost, >= 0.
    office : array of int, shape (k,)
        Which office each unit belongs to.
    clock : Clock
    """

    start: NDArray[np.float64]
    stop: NDArray[np.float64]
    unit: NDArray[np.intp]
    at: NDArray[np.float64]
    weight: NDArray[np.float64]
    office: NDArray[np.intp]
    clock: Clock = Clock.DAYS

    @classmethod
    def of(
        cls,
        stop: ArrayLike,
        unit: ArrayLike,
        at: ArrayLike,
        *,
        start: ArrayLike | None = None,
        weight: ArrayLike | None = None,
        office: ArrayLike | None = None,
        clock: Clock = Clock.DAYS,
    ) -> "Histories":
        """Take histories; returns may come in any order.

        Raises
        ------
        InputError
            If there is no unit, an age is not finite or below 0, a stretch is empty, or a return
            lies outside its unit's.

        Examples
        --------
        >>> histories = Histories.of([17, 19], [0, 0, 1], [5, 15, 6])
        >>> histories.count, histories.returns
        (2, 3)
        """
        stops = _ages(stop, "stop")
        if stops.size == 0:
            raise InputError("there is no history to read; give one unit at least")
        starts = np.zeros(stops.size) if start is None else _ages(start, "start")
        if starts.size != stops.size:
            raise InputError(f"start has {starts.size} values for {stops.size} units")
        empty = np.flatnonzero(stops <= starts)
        if empty.size:
            one = int(empty[0])
            raise InputError(
                f"unit {one + 1} is watched from {starts[one]:g} to {stops[one]:g}; the end must "
                "lie after the start"
            )
        times = _ages(at, "at")
        units = _codes(unit, times.size, "unit", least=0, default=0)
        if units.size and units.max() >= stops.size:
            raise InputError(f"a return names unit {int(units.max()) + 1} of {stops.size}")
        outside = np.flatnonzero((times <= starts[units]) | (times > stops[units]))
        if outside.size:
            one = int(outside[0])
            whose = int(units[one])
            raise InputError(
                f"unit {whose + 1} came back at {times[one]:g}, outside its watch from "
                f"{starts[whose]:g} to {stops[whose]:g}"
            )
        weights = np.ones(times.size) if weight is None else _ages(weight, "weight")
        if weights.size != times.size:
            raise InputError(f"weight has {weights.size} values for {times.size} returns")
        order = np.argsort(times, kind="stable")
        offices = _codes(office, stops.size, "office", least=0, default=0)
        return cls(starts, stops, units[order], times[order], weights[order], offices, Clock(clock))

    @property
    def count(self) -> int:
        """How many units."""
        return int(self.stop.size)

    @property
    def returns(self) -> int:
        """How many returns."""
        return int(self.at.size)

    @property
    def watched(self) -> float:
        """All stretches added up, in `clock`."""
        return float(np.sum(self.stop - self.start))

    @property
    def offices(self) -> int:
        """How many offices they come from."""
        return int(np.unique(self.office).size)

    def chosen(self, units: ArrayLike) -> "Histories":
        """Give the histories of some units, by a mask over the k units; one at least."""
        kept = np.asarray(units, dtype=np.bool_)
        if not kept.any():
            raise InputError("no history is left; choose one unit at least")
        place = np.cumsum(kept) - 1
        rows = kept[self.unit]
        return Histories(
            self.start[kept],
            self.stop[kept],
            place[self.unit[rows]].astype(np.intp),
            self.at[rows],
            self.weight[rows],
            self.office[kept],
            self.clock,
        )


def _ages(values: ArrayLike, what: str) -> NDArray[np.float64]:
    ages = np.array(values, dtype=np.float64, ndmin=1)
    if ages.ndim != 1:
        raise InputError(f"{what} has {ages.ndim} dimensions, must have one")
    wrong = np.flatnonzero(~(np.isfinite(ages) & (ages >= 0.0)))
    if wrong.size:
        at = int(wrong[0])
        raise InputError(f"{what} of row {at + 1} is {ages[at]:g}, must be finite and >= 0")
    return ages


def _flags(values: ArrayLike, count: int) -> NDArray[np.bool_]:
    flags = np.array(values, ndmin=1)
    if flags.shape != (count,):
        raise InputError(f"failed has shape {flags.shape} for {count} lives; give one each")
    if not np.all((flags == 0) | (flags == 1)):
        raise InputError("failed holds something else than true and false, 1 and 0")
    return flags.astype(np.bool_)


def _codes(
    values: ArrayLike | None, count: int, what: str, *, least: int, default: int
) -> NDArray[np.intp]:
    if values is None:
        return np.full(count, default, dtype=np.intp)
    codes = np.array(values, ndmin=1)
    if codes.shape != (count,):
        raise InputError(f"{what} has {codes.size} values for {count} rows; give one each")
    if codes.size == 0:
        return np.zeros(0, dtype=np.intp)
    if not np.issubdtype(codes.dtype, np.integer) or codes.min() < least:
        raise InputError(f"{what} must be whole numbers from {least} on")
    return codes.astype(np.intp)
