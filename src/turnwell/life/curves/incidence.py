"""Cumulative incidence: the share that has failed of each cause by each age, all causes at work.

One minus the product-limit curve of a cause alone would count units that failed of another as if
they could still fail of this one, and overstates it.

References
----------
The estimate: [AALENJOHANSEN1978]; [KLEINMOESCHBERGER2003], 4.7. The variance is the delta
method's, to which the sum of squared influences of the lives is equal; Aalen's differs in small
sets [BRAUN2007].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.clusters import Clusters, Influence
from turnwell.life.curves.risk import Risk, risk_of
from turnwell.life.estimate import Estimate
from turnwell.life.lives import NO_CAUSE, Clock, Lives
from turnwell.life.tails import normal_reach, student_reach, tail_of

__all__ = ["CauseCurve", "Incidence", "cumulative_incidence"]


@dataclass(frozen=True, slots=True, eq=False)
class CauseCurve:
    """The share that has failed of one cause by each age of `Incidence.time`.

    Parameters
    ----------
    cause : int
        Place in `Incidence.cause_names`, or `NO_CAUSE` for failures whose cause nobody settled.
    failures : int
        How many failed of it.
    share : array, shape (m,)
    variance : array, shape (m,)
        Of `share`, by the delta method, lives independent.
    office_variance : array, shape (m,), or None
        The same over offices; None with one office.
    low, high : array, shape (m,)
        Pointwise limits on the scale of ln(-ln(1 - share)).
    """

    cause: int
    failures: int
    share: NDArray[np.float64]
    variance: NDArray[np.float64]
    office_variance: NDArray[np.float64] | None
    low: NDArray[np.float64]
    high: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Incidence:
    """Shares that have failed of each cause; with `survival` they add up to 1.

    Parameters
    ----------
    start, end : float
        Ages from which and up to which lives were under observation, in `clock`.
    time : array, shape (m,)
        Ages at which something failed, rising.
    survival : array, shape (m,)
        Share that runs on past each.
    at_risk : array of float, shape (m,)
    curves : tuple of CauseCurve
        The causes that something failed of, in the order of `cause_names`; the one of failures not
        settled last, where there are any.
    cause_names : tuple of str
    whole : array
        Ends, rising, of the lives under observation from `start` on.
    offices : int
    level : float
    clock : Clock
    """

    start: float
    end: float
    time: NDArray[np.float64]
    survival: NDArray[np.float64]
    at_risk: NDArray[np.float64]
    curves: tuple[CauseCurve, ...]
    cause_names: tuple[str, ...]
    whole: NDArray[np.float64]
    offices: int
    level: float
    clock: Clock

    @property
    def failures_not_settled(self) -> int:
        """How many failed of a cause that nobody settled."""
        return sum(curve.failures for curve in self.curves if curve.cause == NO_CAUSE)

    def at(self, age: float, cause: int) -> Estimate:
        """Give the share that has failed of a cause by an age, `start` to `end`.

        A cause that nothing failed of, or not yet, has share 0 and the upper limit of no failure
        among the lives under observation all the way [CLOPPER1934].

        Raises
        ------
        InputError
            If nothing was under observation at that age, or there is no such cause.
        """
        if not self.start <= age <= self.end:
            raise InputError(
                f"age is {age:g}, but lives were under observation from {self.start:g} to "
                f"{self.end:g}; ask for an age between"
            )
        if not NO_CAUSE <= cause < len(self.cause_names):
            raise InputError(f"cause is {cause}, but {len(self.cause_names)} causes are named")
        place = int(np.searchsorted(self.time, age, side="right")) - 1
        found = [curve for curve in self.curves if curve.cause == cause]
        if found and place >= 0 and found[0].share[place] > 0.0:
            curve = found[0]
            ends = float(curve.low[place]), float(curve.high[place])
            return Estimate(float(curve.share[place]), *ends, self.level)
        if age == self.start:
            return Estimate(0.0, 0.0, 0.0, self.level)
        count = self.whole.size - int(np.searchsorted(self.whole, age, side="left"))
        most = 1.0 - tail_of(self.level) ** (1.0 / count) if count else 1.0
        return Estimate(0.0, 0.0, most, self.level)


def cumulative_incidence(
    lives: Lives, *, level: float = 0.95, start: float | None = None
) -> Incidence:
    """Estimate the share that has failed of each cause by each age.

    With more than one office the interval is that over offices (Student's t, offices - 1 degrees)
    where it is wider than that of independent lives.

    Parameters
    ----------
    lives : Lives
        Each failure's age known; a failure without a cause counts as one of a kind of its own.
    level : float
        Coverage of the pointwise limits.
    start : float or None
        Age to count from; the first entry where None.

    Raises
    ------
    InputError
        If a failure lies between two looks, or no life reaches beyond start.

    Examples
    --------
    >>> lives = Lives.observed(
    ...     [2, 5, 7, 9], [1, 1, 0, 1], cause=[0, 1, -1, 0], cause_names=["bearing", "chuck"]
    ... )
    >>> incidence = cumulative_incidence(lives)
    >>> [curve.share.tolist() for curve in incidence.curves]
    [[0.25, 0.25, 0.75], [0.0, 0.25, 0.25]]
    """
    risk = risk_of(lives, start=start)
    running = risk.survival
    causes = risk.lives.cause[risk.lives.is_failed]
    kinds = [int(code) for code in np.unique(causes)]
    if NO_CAUSE in kinds:
        kinds = [*(code for code in kinds if code != NO_CAUSE), NO_CAUSE]
    offices = risk.clusters(risk.lives.office) if risk.lives.offices > 1 else None
    before = np.concatenate([[1.0], running[:-1]])
    return Incidence(
        start=risk.start,
        end=risk.end,
        time=risk.time,
        survival=running,
        at_risk=risk.at_risk,
        curves=tuple(
            _curve(risk, code, causes == code, before, offices=offices, level=level)
            for code in kinds
        ),
        cause_names=lives.cause_names,
        whole=np.sort(risk.lives.low[risk.lives.entry <= risk.start]),
        offices=risk.lives.offices,
        level=level,
        clock=lives.clock,
    )


def _curve(
    risk: Risk,
    cause: int,
    is_of_it: NDArray[np.bool_],
    before: NDArray[np.float64],
    *,
    offices: Clusters | None,
    level: float,
) -> CauseCurve:
    """Give the curve of one cause; before is the share that runs on up to each age."""
    failures = np.bincount(risk.step[is_of_it], minlength=risk.time.size).astype(np.float64)
    # Rounding may carry the sum a hair over the whole where all fail of one cause.
    share = np.minimum(np.cumsum(before * failures / risk.at_risk), 1.0)
    variance = _variance(risk, before, failures, share)
    reach = normal_reach(level) * np.sqrt(variance)
    over_offices = None
    if offices is not None:
        influences = _influences(risk, is_of_it, before, failures, share)
        over_offices = _office_variance(offices, share, influences)
        over = student_reach(level, offices.count - 1) * np.sqrt(over_offices)
        reach = np.maximum(reach, over)
    low, high = _limits(share, reach)
    return CauseCurve(
        cause=cause,
        failures=int(np.count_nonzero(is_of_it)),
        share=share,
        variance=variance,
        office_variance=over_offices,
        low=low,
        high=high,
    )


def _variance(
    risk: Risk,
    before: NDArray[np.float64],
    failures: NDArray[np.float64],
    share: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Give the variance by the delta method, lives independent.

    With r = d / (n (n - d)), b = S- d_k / n^2 and c = S-^2 d_k (n - d_k) / n^3 it is, summed over
    the ages s up to t, that of r (F(t) - F(s))^2 - 2 b (F(t) - F(s)) + c.
    """
    left = risk.at_risk - risk.failures
    # Where all fail the share rises no more, and F(t) - F(s) is 0 from there on.
    rate = np.divide(risk.failures, risk.at_risk * left, out=np.zeros_like(left), where=left > 0.0)
    own = before * failures / risk.at_risk**2
    square = own * before * (1.0 - failures / risk.at_risk)
    twice = np.cumsum(rate * share + own)
    once = np.cumsum(rate * share**2 + 2.0 * own * share + square)
    variance: NDArray[np.float64] = share**2 * np.cumsum(rate) - 2.0 * share * twice + once
    return np.maximum(variance, 0.0)


def _influences(
    risk: Risk,
    is_of_it: NDArray[np.bool_],
    before: NDArray[np.float64],
    failures: NDArray[np.float64],
    share: NDArray[np.float64],
) -> tuple[Influence, Influence]:
    """Give two parts: a life moves the share at step j by the first less share(j) x the second.

    The second is its influence on -ln(survival); a later rise of the share shrinks with it, which
    is what share(j) - share(step of the life) says.
    """
    left = risk.at_risk - risk.failures
    # Where all fail nothing rises any more, so that part is not needed.
    each = np.divide(1.0, left, out=np.zeros_like(left), where=left > 0.0)
    ended = Influence(jump=each[risk.step], slope=each * risk.failures / risk.at_risk)
    own = before / risk.at_risk
    rose = Influence(
        jump=own[risk.step] * is_of_it + (share * each)[risk.step],
        slope=own * failures / risk.at_risk + share * ended.slope,
    )
    return rose, ended


def _office_variance(
    clusters: Clusters, share: NDArray[np.float64], influences: tuple[Influence, Influence]
) -> NDArray[np.float64]:
    rose, ended = influences
    crossed = clusters.products(rose, ended)
    squares = clusters.products(rose, rose) + share**2 * clusters.products(ended, ended)
    variance: NDArray[np.float64] = np.maximum(squares - 2.0 * share * crossed, 0.0)
    return variance * (clusters.count / (clusters.count - 1.0))


def _limits(
    share: NDArray[np.float64], reach: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give limits on the scale of ln(-ln(1 - share)); 0 to 1 where the share is one of these."""
    low, high = np.zeros_like(share), np.ones_like(share)
    inside = (share > 0.0) & (share < 1.0)
    left = 1.0 - share[inside]
    hazard = -np.log(left)
    with np.errstate(over="ignore"):
        factor = np.exp(reach[inside] / (left * hazard))
    low[inside] = -np.expm1(-hazard / factor)
    high[inside] = -np.expm1(-hazard * factor)
    return low, high
