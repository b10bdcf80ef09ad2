"""The product-limit curve: the share that runs on past each age, with no law assumed.

References
----------
The curve: [KAPLAN1958]. Its variance: [GREENWOOD1926]. Limits on the scale of ln(-ln S), and late
entry: [KLEINMOESCHBERGER2003], 4.2 to 4.6. Variance over clusters: [LIANG1986].
"""

from dataclasses import dataclass
from math import floor, inf, log, log1p

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Influence
from turnwell.life.curves.risk import Risk, risk_of
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Lives
from turnwell.life.tails import normal_reach, student_reach, tail_of

__all__ = ["SurvivalCurve", "product_limit"]

# Of a share that was multiplied up from some 100,000 steps.
ROUNDING = 1e-11


@dataclass(frozen=True, slots=True, eq=False)
class SurvivalCurve:
    """The share that runs on past each age, of those that ran at `start`.

    Parameters
    ----------
    start, end : float
        Ages from which and up to which lives were under observation, in `clock`.
    time : array, shape (m,)
        Ages at which something failed, rising.
    survival : array, shape (m,)
        Share that runs on past each.
    at_risk, failures : array of float, shape (m,)
        How many were under observation just before each, and how many failed there.
    variance : array, shape (m,)
        Of ln(survival), by Greenwood's sum; infinite where survival is 0.
    office_variance : array, shape (m,), or None
        Of the same, over offices; None with one office.
    low, high : array, shape (m,)
        Limits of `survival`, pointwise. At survival 0 the upper limit is that of the age before.
    whole : array
        Ends, rising, of the lives under observation from `start` on; they bound the share before
        the first failure.
    offices : int
        How many offices the lives come from.
    emptied_at : float or None
        First age at which all that were at risk failed: the curve is 0 from there on, whoever comes
        under observation later.
    level : float
    clock : Clock
    """

    start: float
    end: float
    time: NDArray[np.float64]
    survival: NDArray[np.float64]
    at_risk: NDArray[np.float64]
    failures: NDArray[np.float64]
    variance: NDArray[np.float64]
    office_variance: NDArray[np.float64] | None
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    whole: NDArray[np.float64]
    offices: int
    emptied_at: float | None
    level: float
    clock: Clock

    @property
    def is_cut_short(self) -> bool:
        """True where the curve fell to 0 though lives were under observation beyond.

        It says little then: at that age so few were at risk that all failed. Count from a later
        ``start``, at which more were.
        """
        return self.emptied_at is not None and self.emptied_at < self.end

    def at(self, age: float) -> Estimate:
        """Give the share that runs on past an age, `start` to `end`.

        Before the first failure the lower limit is that of no failure among the lives under
        observation all the way [CLOPPER1934].

        Raises
        ------
        InputError
            If nothing was under observation at that age.
        """
        if not self.start <= age <= self.end:
            raise InputError(
                f"age is {age:g}, but lives were under observation from {self.start:g} to "
                f"{self.end:g}; ask for an age between"
            )
        place = int(np.searchsorted(self.time, age, side="right")) - 1
        if place >= 0:
            return Estimate(
                float(self.survival[place]),
                float(self.low[place]),
                float(self.high[place]),
                self.level,
            )
        count = self.whole.size - int(np.searchsorted(self.whole, age, side="left"))
        least = tail_of(self.level) ** (1.0 / count) if count else 0.0
        return Estimate(1.0, least if age > self.start else 1.0, 1.0, self.level)

    def quantile(self, p: float) -> Estimate:
        """Give the age by which a share p has failed, by where curve and limits come down to it.

        Infinite where they do not within the ages observed.

        Raises
        ------
        InputError
            If p does not lie between 0 and 1.
        """
        if not 0.0 < p < 1.0:
            raise InputError(f"p is {p}, must lie between 0 and 1")
        # A hair of rounding must not move the median of an even number by a whole step.
        left = 1.0 - p + ROUNDING
        value = self._first(self.survival <= left)
        earliest = self._first(self.low <= left)
        sure = self._sure_until(p)
        first = float(self.time[0]) if self.time.size else inf
        low = sure if sure < min(first, self.end) else min(earliest, self.end)
        return Estimate(value, min(low, value), self._first(self.high <= left), self.level)

    @property
    def median(self) -> Estimate:
        """Age by which half have failed."""
        return self.quantile(0.5)

    def _first(self, holds: NDArray[np.bool_]) -> float:
        return float(self.time[np.argmax(holds)]) if holds.any() else inf

    def _sure_until(self, p: float) -> float:
        """Give the age up to which no failure at all proves that less than a share p failed."""
        needed = floor(log(tail_of(self.level)) / log1p(-p)) + 1
        return float(self.whole[-needed]) if needed <= self.whole.size else self.start


def product_limit(
    lives: Lives, *, level: float = 0.95, start: float | None = None
) -> SurvivalCurve:
    """Estimate the share that runs on past each age.

    With more than one office the interval is that over offices (Student's t, offices - 1 degrees)
    where it is wider than that of independent lives.

    Parameters
    ----------
    lives : Lives
        Each failure's age known; late entries are at risk after their entry only.
    level : float
        Coverage of the pointwise limits.
    start : float or None
        Age at which the share is 1; the first entry where None. Choose a later one where few were
        at risk early.

    Raises
    ------
    InputError
        If a failure lies between two looks, or no life reaches beyond start.

    Examples
    --------
    Two failures of four, and one that came under observation late:

    >>> lives = Lives.observed([4, 6, 7, 8, 9], [1, 1, 0, 1, 1], entry=[0, 0, 2, 3, 5])
    >>> product_limit(lives).survival
    array([0.75   , 0.5625 , 0.28125, 0.     ])
    """
    risk = risk_of(lives, start=start)
    survival = risk.survival
    running = risk.at_risk - risk.failures
    with np.errstate(divide="ignore"):
        variance = np.cumsum(risk.failures / (risk.at_risk * running))
    reach = normal_reach(level) * np.sqrt(variance)
    offices = risk.lives.offices
    over_offices = _office_variance(risk) if offices > 1 else None
    if over_offices is not None:
        reach = np.maximum(reach, student_reach(level, offices - 1) * np.sqrt(over_offices))
    low, high = _limits(survival, reach)
    emptied = risk.time[running == 0.0]
    return SurvivalCurve(
        start=risk.start,
        end=risk.end,
        time=risk.time,
        survival=survival,
        at_risk=risk.at_risk,
        failures=risk.failures,
        variance=variance,
        office_variance=over_offices,
        low=low,
        high=high,
        whole=np.sort(risk.lives.low[risk.lives.entry <= risk.start]),
        offices=offices,
        emptied_at=float(emptied[0]) if emptied.size else None,
        level=level,
        clock=lives.clock,
    )


def _office_variance(risk: Risk) -> NDArray[np.float64]:
    """Give the variance of ln(survival) over offices, shape (m,)."""
    running = risk.at_risk - risk.failures
    # Where all fail the share is 0 and has no logarithm; what comes after is not read.
    each = np.divide(1.0, running, out=np.zeros_like(running), where=running > 0.0)
    clusters = risk.clusters(risk.lives.office)
    influence = Influence(jump=each[risk.step], slope=each * risk.failures / risk.at_risk)
    squares = np.maximum(clusters.products(influence, influence), 0.0)
    return squares * clusters.count / (clusters.count - 1.0)


def _limits(
    survival: NDArray[np.float64], reach: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give the limits whose ln(-ln) lies as far off as ln(survival) reaches, relative to it."""
    low, high = np.zeros_like(survival), np.zeros_like(survival)
    above = survival > 0.0
    share = survival[above]
    with np.errstate(over="ignore"):
        factor = np.exp(reach[above] / -np.log(share))
    low[above], high[above] = share**factor, share ** (1.0 / factor)
    if share.size < survival.size:
        # The share beyond is no greater than the one before, so its upper limit holds there too.
        high[share.size :] = high[share.size - 1] if share.size else 1.0
    return low, high
