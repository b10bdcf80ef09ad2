"""A power law of returns: do they come faster or slower as a unit ages, and how many come next.

References
----------
The law and its estimates: [CROW1974], [MILHDBK189]; late starts and grouped counts by the same
likelihood. Goodness of fit: [MILHDBK189], [DAGOSTINO1986]. Spread over units or offices:
[HUBER1967], [LIANG1986].
"""

from dataclasses import dataclass, replace
from math import exp, inf, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Histories
from turnwell.life.returns.power_fit import best_shape, exact_limits, shape_limits
from turnwell.life.returns.power_likelihood import PowerLikelihood
from turnwell.life.returns.power_misfit import MISFIT_LIMIT, misfit_of
from turnwell.life.returns.power_region import Quantity, Region, region_of
from turnwell.life.returns.power_spread import estimate_of, reach_of, spread_of
from turnwell.life.returns.watch import refuse_open_ends
from turnwell.life.tails import normal_reach

__all__ = ["PowerLaw", "power_law", "power_law_of_counts"]


@dataclass(frozen=True, slots=True, eq=False)
class PowerLaw:
    """Returns of a unit at rate ``factor * shape * age**(shape - 1)``.

    A shape above 1: they come faster as the unit ages. Below 1: slower.

    Parameters
    ----------
    shape : Estimate
        With its exact interval where all units were watched from 0 to one age, else by the
        likelihood. Both hold where returns of a unit depend on nothing but its age.
    robust_shape : Estimate or None
        The shape with the interval over units, or over offices where there is more than one,
        whatever way their returns depend on each other, where that is wider than the one by the
        likelihood; None with one unit or with counts.
    factor : float
        Expected returns up to age 1.
    scale : Estimate
        Age by which one return is expected, in `clock`.
    returns : int
    units : int
        How many units they come from.
    end : float
        Greatest age watched.
    is_failure_terminated : bool
        Whether the watch of each unit ended by its last return, not at a set age.
    misfit : float or None
        Statistic of Cramer and von Mises; above `MISFIT_LIMIT` the law is denied at 5 %. None with
        late starts or counts, and with fewer than two returns that can be used.
    region : Region
        Shapes and factors that the likelihood does not deny.
    spread : array, shape (c, 2)
        What each cluster moves shape and ln(factor) by; empty where there is one only.
    level : float
    clock : Clock
    """

    shape: Estimate
    robust_shape: Estimate | None
    factor: float
    scale: Estimate
    returns: int
    units: int
    end: float
    is_failure_terminated: bool
    misfit: float | None
    region: Region
    spread: NDArray[np.float64]
    level: float
    clock: Clock

    @property
    def unbiased_shape(self) -> float:
        """Shape freed of its bias for one unit, or units of one stretch [MILHDBK189]."""
        lost = 2 if self.is_failure_terminated else 1
        return self.shape.value * (self.returns - lost) / self.returns

    @property
    def fits(self) -> bool | None:
        """False where the returns deny the law at 5 %; None where that cannot be told."""
        return None if self.misfit is None else self.misfit <= MISFIT_LIMIT

    def expected(self, start: float, stop: float) -> Estimate:
        """Give the expected returns of one unit between two ages, 0 <= start < stop.

        The interval is that of the expectation, by the likelihood or over clusters, whichever is
        wider; the returns that come vary about it.

        Raises
        ------
        InputError
            If the ages are not in that order.
        """
        if not 0.0 <= start < stop < inf:
            raise InputError(f"start is {start:g} and stop {stop:g}; must be 0 <= start < stop")
        return self._estimate(lambda shape, factor: factor + np.log(stop**shape - start**shape))

    def intensity(self, age: float) -> Estimate:
        """Give the returns of one unit per cycle or day at an age, > 0.

        Raises
        ------
        InputError
            If the age is not above 0.
        """
        if not 0.0 < age < inf:
            raise InputError(f"age is {age:g}, must be > 0")
        return self._estimate(
            lambda shape, factor: factor + np.log(shape) + (shape - 1.0) * log(age)
        )

    def gap(self, age: float) -> Estimate:
        """Give the mean time between returns of one unit at an age, > 0."""
        rate = self.intensity(age)
        return Estimate(1.0 / rate.value, 1.0 / rate.high, 1.0 / rate.low, self.level)

    def gap_at_end(self) -> Estimate:
        """Give the mean time between returns at the end of the watch of one unit, bias removed.

        Value and limits are those of the worked example of [NISTHANDBOOK], 8.4.5.1, for a watch
        that ended at a set age; the limits are approximate. `gap` needs neither.

        Raises
        ------
        InputError
            If there are several units, or the watch ended by a return.
        """
        if self.units != 1 or self.is_failure_terminated:
            raise InputError("this is for one unit watched to a set age; use gap for others")
        count, reach = float(self.returns), normal_reach(self.level)
        value = self.end / (count * self.unbiased_shape)
        most = count + reach**2 / 4.0 + sqrt(count * reach**2 / 2.0 + reach**4 / 16.0)
        least = count - reach * sqrt(count / 2.0)
        factor = value * count * (count - 1.0)
        high = factor / least**2 if least > 0.0 else inf
        return Estimate(value, factor / most**2, max(high, value), self.level)

    def _estimate(self, quantity: Quantity) -> Estimate:
        return estimate_of(
            quantity,
            self.shape.value,
            self.factor,
            region=self.region,
            spread=self.spread,
            level=self.level,
        )


def power_law(
    histories: Histories, *, level: float = 0.95, failure_terminated: bool = False
) -> PowerLaw:
    """Fit a power law to the returns of units watched from any age to any other.

    Parameters
    ----------
    histories : Histories
        Two returns at least; each counts once, whatever its weight.
    level : float
    failure_terminated : bool
        Whether the watch of each unit ended by its last return.

    Raises
    ------
    CannotTellError
        If returns are too few, all lie at the end of the watch, or no power law is best.
    InputError
        If a watch said to end by a return does not.

    Examples
    --------
    >>> law = power_law(Histories.of([1500], [0] * 3, [5, 40, 743]))
    >>> print(law.shape)
    0.299083 (0.0616782 to 0.720261)
    """
    if failure_terminated:
        refuse_open_ends(histories)
    top = float(histories.stop.max())
    none = np.zeros(0)
    likelihood = PowerLikelihood(
        start=histories.start / top,
        stop=histories.stop / top,
        exact=histories.returns,
        logarithms=float(np.sum(np.log(histories.at / top))),
        low=none,
        high=none,
        counts=none,
    )
    shape = best_shape(likelihood)
    law = _law(
        likelihood,
        shape,
        top=top,
        spread=spread_of(histories, likelihood, shape, top),
        level=level,
        clock=histories.clock,
    )
    ended = failure_terminated
    exact = exact_limits(shape, histories, is_failure_terminated=ended, level=level)
    return replace(
        law,
        shape=exact or law.shape,
        is_failure_terminated=ended,
        misfit=misfit_of(histories, is_failure_terminated=ended),
    )


def power_law_of_counts(
    ends: ArrayLike,
    counts: ArrayLike,
    *,
    start: float = 0.0,
    level: float = 0.95,
    clock: Clock = Clock.DAYS,
) -> PowerLaw:
    """Fit a power law to how many returns of one unit fell into each span of age.

    Parameters
    ----------
    ends : array, shape (g,)
        Ends of the spans, rising; each begins where the one before ends.
    counts : array of int, shape (g,)
        Returns in each.
    start : float
        Where the first span begins.

    Raises
    ------
    CannotTellError
        If returns are too few, or all lie in the first or last span, which leaves the shape open.
    InputError
        If the ends do not rise from start, or a count is no whole number >= 0.

    Examples
    --------
    >>> law = power_law_of_counts([20, 40, 60, 80, 100], [13, 16, 5, 8, 7])
    >>> round(law.shape.value, 4), round(law.factor, 4)
    (0.7529, 1.5293)
    """
    edges = np.concatenate([[float(start)], np.asarray(ends, dtype=np.float64).reshape(-1)])
    each = np.asarray(counts, dtype=np.float64).reshape(-1)
    if not (np.isfinite(edges).all() and edges[0] >= 0.0 and np.all(np.diff(edges) > 0.0)):
        raise InputError("ends must be finite and rise from a start >= 0; put them in order")
    if each.size != edges.size - 1 or np.any(each < 0.0) or np.any(each != np.floor(each)):
        raise InputError("counts must give one whole number >= 0 for each end")
    top = float(edges[-1])
    held = each > 0.0
    likelihood = PowerLikelihood(
        start=edges[:1] / top,
        stop=edges[-1:] / top,
        exact=0,
        logarithms=0.0,
        low=edges[:-1][held] / top,
        high=edges[1:][held] / top,
        counts=each[held],
    )
    none = np.zeros((0, 2))
    return _law(likelihood, best_shape(likelihood), top=top, spread=none, level=level, clock=clock)


def _law(
    likelihood: PowerLikelihood,
    shape: float,
    *,
    top: float,
    spread: NDArray[np.float64],
    level: float,
    clock: Clock,
) -> PowerLaw:
    cut = normal_reach(level) ** 2 / 2.0
    least, most = shape_limits(likelihood, shape, cut)
    region = region_of(likelihood, best=shape, ends=(least, most), cut=cut, top=top)
    factor = likelihood.returns / likelihood.watched(shape) / top**shape
    robust = None
    if spread.size:
        spreading = exp(reach_of(spread[:, 0] / shape, level))
        ends = min(least, shape / spreading), max(most, shape * spreading)
        robust = Estimate(shape, *ends, level)
    return PowerLaw(
        shape=Estimate(shape, least, most, level),
        robust_shape=robust,
        factor=factor,
        scale=estimate_of(
            lambda shapes, factors: -factors / shapes,
            shape,
            factor,
            region=region,
            spread=spread,
            level=level,
        ),
        returns=int(likelihood.returns),
        units=likelihood.start.size,
        end=top,
        is_failure_terminated=False,
        misfit=None,
        region=region,
        spread=spread,
        level=level,
        clock=clock,
    )
