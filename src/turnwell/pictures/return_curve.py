"""The return curve: how often the average handpiece has come back, this office over all of them.

Mean cumulative returns per handpiece on the calendar, a step at each day on which they rise. Every
training is a firm line with its day; the office's pace before a training is carried on dotted.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.pictures.estimated import Estimated

__all__ = ["END_DECIMALS", "CurveSteps", "OldPace", "ReturnCurve"]

DAYS_A_YEAR = 365.25
# One handpiece, or one return, says nothing about how handpieces differ: no interval is drawn.
FEWEST = 2
# The figures of both curves stand under each other, and differences of them in the words.
END_DECIMALS = 2


@dataclass(frozen=True, slots=True, eq=False)
class CurveSteps:
    """Mean cumulative returns per handpiece, from the first day of a picture on.

    Made by `of`, which checks.

    Parameters
    ----------
    days : array, shape (n,)
        Days since the first day of the picture at which the curve rises, >= 0, rising; n may be 0.
    value, low, high : array, shape (n,)
        From each of these days on: returns per handpiece and the ends of the 95 % interval.
    handpieces, returns : int
        How many were watched, and how often they came back.
    most_of_none : float or None
        Where none came back: upper end of the 95 % interval on the last day, > 0.
    """

    days: NDArray[np.float64]
    value: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    handpieces: int
    returns: int
    most_of_none: float | None = None

    @classmethod
    def of(
        cls,
        days: ArrayLike,
        value: ArrayLike,
        low: ArrayLike,
        high: ArrayLike,
        *,
        handpieces: int,
        returns: int,
        most_of_none: float | None = None,
    ) -> "CurveSteps":
        """Take the steps of a curve.

        Raises
        ------
        InputError
            If lengths differ, days do not rise from 0, a number is not finite, values fall or lie
            outside their interval, or there is no handpiece.

        Examples
        --------
        >>> steps = CurveSteps.of([30, 90], [0.5, 1.0], [0.1, 0.4], [1.4, 2.1],
        ...                       handpieces=2, returns=2)
        >>> steps.at(89.0), steps.at(90.0).value
        (Estimated(value=0.5, low=0.1, high=1.4), 1.0)
        """
        rows = [np.asarray(row, dtype=np.float64) for row in (days, value, low, high)]
        at, values, lows, highs = rows
        if any(row.ndim != 1 or row.size != at.size for row in rows):
            raise InputError("days, value, low and high must be rows of one length; give one each")
        if not all(bool(np.all(np.isfinite(row))) for row in rows):
            raise InputError("a step of the return curve is not a finite number; leave it out")
        if at.size and (at[0] < 0.0 or np.any(np.diff(at) <= 0.0)):
            raise InputError("the days of a return curve must rise from 0; sort and join them")
        if np.any(np.diff(values) < 0.0) or np.any((lows > values) | (values > highs)):
            raise InputError("a return curve never falls, and lies within its interval")
        if handpieces < 1 or returns < 0:
            raise InputError(
                f"{handpieces} handpieces with {returns} returns make no curve; one is needed"
            )
        if most_of_none is not None and (returns or not 0.0 < most_of_none < np.inf):
            raise InputError(
                f"{most_of_none} is no upper end for {returns} returns; it is finite, > 0, and only"
                " for none"
            )
        return cls(at, values, lows, highs, handpieces, returns, most_of_none)

    @property
    def has_band(self) -> bool:
        """True where there is enough for an interval: two handpieces and two returns at least."""
        return self.handpieces >= FEWEST and self.returns >= FEWEST

    @property
    def end(self) -> Estimated | None:
        """Give value and interval on the last day; None where there is too little for one."""
        if self.most_of_none is not None:
            return Estimated(0.0, 0.0, self.most_of_none)
        if not self.has_band or not self.days.size:
            return None
        return self.at(float(self.days[-1]))

    def at(self, day: float) -> Estimated:
        """Give the curve at a day since the first; 0 before the first step."""
        step = int(np.searchsorted(self.days, day, side="right")) - 1
        if step < 0:
            return Estimated(0.0, 0.0, 0.0)
        return Estimated(float(self.value[step]), float(self.low[step]), float(self.high[step]))


@dataclass(frozen=True, slots=True)
class OldPace:
    """How fast handpieces came back before a training.

    Parameters
    ----------
    until : date
        The training; from there the pace is carried on.
    returns_a_year : Estimated
        Per handpiece.
    """

    until: date
    returns_a_year: Estimated


@dataclass(frozen=True, slots=True)
class ReturnCurve:
    """A return curve ready to be drawn.

    Parameters
    ----------
    first, last : date
        Days the picture runs from and to; both curves are counted from the first.
    office : CurveSteps
    everyone : CurveSteps or None
        All offices together; None where this is the only one.
    offices : int
        How many these are.
    trainings, visits : tuple of date
        Those outside the picture are left out.
    old_pace : OldPace or None

    Raises
    ------
    InputError
        If the last day does not lie after the first, or a step after the last day.
    """

    first: date
    last: date
    office: CurveSteps
    everyone: CurveSteps | None = None
    offices: int = 1
    trainings: tuple[date, ...] = ()
    visits: tuple[date, ...] = ()
    old_pace: OldPace | None = None

    def __post_init__(self) -> None:
        if self.last <= self.first:
            raise InputError(f"the last day {self.last} must lie after the first, {self.first}")
        for steps in (self.office, self.everyone):
            if steps is not None and steps.days.size and steps.days[-1] > self.days + 1.0:
                raise InputError(
                    f"a step lies {steps.days[-1]:g} days after the first, the last day {self.days}"
                )

    @property
    def days(self) -> int:
        """Days from the first to the last."""
        return (self.last - self.first).days

    def day_of(self, day: date) -> int:
        """Give the days from the first to a day."""
        return (day - self.first).days

    def shown(self, days: tuple[date, ...]) -> tuple[date, ...]:
        """Give those of some days that lie in the picture, in order, each once."""
        return tuple(sorted({day for day in days if self.first <= day <= self.last}))

    @property
    def carried_on(self) -> tuple[float, float] | None:
        """What the old pace begins at and comes to on the last day; None where there is none."""
        pace = self.old_pace
        if pace is None or not self.first <= pace.until < self.last:
            return None
        start = self.office.at(float(self.day_of(pace.until))).value
        years = (self.last - pace.until).days / DAYS_A_YEAR
        return start, start + years * pace.returns_a_year.value
