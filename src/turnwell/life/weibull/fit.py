"""Fit of a Weibull life, with intervals of its shape, scale, quantiles, mean and survival."""

from dataclasses import dataclass
from math import exp, inf, isinf, log, log1p

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Lives
from turnwell.life.weibull.likelihood import Likelihood, likelihood_of
from turnwell.life.weibull.maximum import Maximum, maximum_of
from turnwell.life.weibull.profile import Limits, profile_limits
from turnwell.life.weibull.targets import (
    MeanTarget,
    QuantileTarget,
    ShapeTarget,
    SurvivalTarget,
    Target,
)

__all__ = ["WeibullFit", "weibull_fit"]


@dataclass(frozen=True, slots=True, eq=False)
class WeibullFit:
    """A Weibull life as the lives tell it; survival to age t is exp(-(t/scale)^shape).

    Parameters
    ----------
    shape : Estimate
        Above 1 the unit wears out, below 1 it fails early.
    scale : Estimate
        Age passed by 36.8 %, in `clock`.
    log_likelihood : float
        At its maximum, for the ages as given.
    count, failures : int
    clock : Clock
    is_corrected : bool
        Whether the intervals are corrected for few failures.
    likelihood, maximum
        What further intervals are made of.
    """

    shape: Estimate
    scale: Estimate
    log_likelihood: float
    count: int
    failures: int
    clock: Clock
    is_corrected: bool
    likelihood: Likelihood
    maximum: Maximum

    def quantile(self, chance: float) -> Estimate:
        """Give the age by which the share `chance` has failed, 0 < chance < 1."""
        if not 0.0 < chance < 1.0:
            raise InputError(f"chance is {chance}, must lie between 0 and 1")
        return self._age(QuantileTarget(log(-log1p(-chance))))

    def survival(self, age: float) -> Estimate:
        """Give the share that passes an age, finite and >= 0."""
        if not 0.0 <= age < inf:
            raise InputError(f"age is {age}, must be finite and >= 0")
        level = self.shape.level
        if age == 0.0:
            return Estimate(1.0, 1.0, 1.0, level)
        limits = self._limits(SurvivalTarget(log(age) - self.likelihood.unit))
        value, low, high = (exp(-_exp(end)) for end in (limits.value, limits.high, limits.low))
        return Estimate(value, low, high, level)

    @property
    def median_life(self) -> Estimate:
        """Age that half of them pass."""
        return self.quantile(0.5)

    @property
    def mean_life(self) -> Estimate:
        """Mean age at failure."""
        return self._age(MeanTarget())

    def _age(self, target: Target) -> Estimate:
        limits = self._limits(target)
        return _estimate(limits, self.likelihood.unit, self.shape.level)

    def _limits(self, target: Target) -> Limits:
        return profile_limits(
            self.likelihood,
            self.maximum,
            target,
            z=normal_quantile(self.shape.level),
            is_corrected=self.is_corrected,
        )


def weibull_fit(lives: Lives, *, level: float = 0.95, corrected: bool = True) -> WeibullFit:
    """Fit a Weibull life by maximum likelihood.

    Parameters
    ----------
    lives : Lives
        Censored and entered in any way.
    level : float
        Coverage of the intervals, 0.5 to below 1.
    corrected : bool
        Whether intervals are corrected for few failures; False gives plain profile-likelihood ones.

    Raises
    ------
    CannotTellError
        If nothing failed, or the lives leave the shape without an end.
    InputError
        If level is out of range.

    Examples
    --------
    >>> ages = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10
    >>> fit = weibull_fit(Lives.observed(ages, [1] * 10 + [0] * 10), corrected=False)
    >>> print(fit.shape)
    1.7208 (0.905645 to 2.88574)
    """
    z = normal_quantile(level)
    likelihood = likelihood_of(lives)
    maximum = maximum_of(likelihood)
    shape, scale = (
        profile_limits(likelihood, maximum, target, z=z, is_corrected=corrected)
        for target in (ShapeTarget(), QuantileTarget(0.0))
    )
    return WeibullFit(
        shape=_estimate(shape, 0.0, level),
        scale=_estimate(scale, likelihood.unit, level),
        log_likelihood=maximum.terms.value + likelihood.constant,
        count=lives.count,
        failures=lives.failures,
        clock=lives.clock,
        is_corrected=corrected,
        likelihood=likelihood,
        maximum=maximum,
    )


def normal_quantile(level: float) -> float:
    """Give how many standard deviations an interval of this level reaches to either side."""
    from scipy.special import ndtri

    if not 0.5 <= level < 1.0:
        raise InputError(f"level is {level}, must be at least 0.5 and below 1")
    return float(ndtri(0.5 + 0.5 * level))


def _estimate(limits: Limits, unit: float, level: float) -> Estimate:
    """Give limits of a log as an estimate of the number."""
    value, low, high = (_exp(end + unit) for end in limits)
    return Estimate(value, low, high, level)


def _exp(value: float) -> float:
    if isinf(value):
        return inf if value > 0.0 else 0.0
    return exp(value) if value < 700.0 else inf
