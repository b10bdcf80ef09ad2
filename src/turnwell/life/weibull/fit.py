"""Fit of a Weibull life, with intervals of its shape, scale, quantiles, mean and survival."""

from dataclasses import dataclass
from math import exp, inf, isinf, log, log1p

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock, Lives
from turnwell.life.tails import normal_reach
from turnwell.life.weibull.grid import WeibullGrid, grid_of
from turnwell.life.weibull.lifetimes import mean_ahead
from turnwell.life.weibull.likelihood import Likelihood, likelihood_of
from turnwell.life.weibull.maximum import Maximum, maximum_of
from turnwell.life.weibull.profile import Limits, profile_limits
from turnwell.life.weibull.robust import OfficeSpread, office_spread
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
    is_calibrated : bool
        Whether the intervals are calibrated for few failures.
    likelihood, maximum
        What further intervals are made of.
    spread : OfficeSpread or None
        Over offices, for intervals robust to lives being alike within an office; None with one
        office, or where fewer than two failures are left without one of them.
    """

    shape: Estimate
    scale: Estimate
    log_likelihood: float
    count: int
    failures: int
    clock: Clock
    is_calibrated: bool
    likelihood: Likelihood
    maximum: Maximum
    spread: OfficeSpread | None

    @property
    def grid(self) -> WeibullGrid:
        """What the lives leave open about shape and scale; computed each time."""
        return grid_of(self.likelihood, clock=self.clock, maximum=self.maximum)

    @property
    def robust_shape(self) -> Estimate | None:
        """Shape with an interval robust to lives being alike within an office, or None."""
        return self._robust(1.0, 0.0, self.maximum.a)

    @property
    def robust_scale(self) -> Estimate | None:
        """Scale likewise."""
        return self._robust(0.0, 1.0, self.maximum.m + self.likelihood.unit)

    def robust_quantile(self, chance: float) -> Estimate | None:
        """Give a quantile likewise, 0 < chance < 1."""
        drop = _height(chance) * exp(-self.maximum.a)
        return self._robust(-drop, 1.0, self.maximum.m + self.likelihood.unit + drop)

    def robust_survival(self, age: float) -> Estimate | None:
        """Give survival to an age likewise, by the log of its cumulative hazard."""
        plain = self.survival(age)
        if self.spread is None or age == 0.0:
            return None if self.spread is None else plain
        b = exp(self.maximum.a)
        z = b * (log(age) - self.likelihood.unit - self.maximum.m)
        half = self.spread.half_width(z, -b)
        return Estimate(plain.value, exp(-_exp(z + half)), exp(-_exp(z - half)), plain.level)

    def quantile(self, chance: float) -> Estimate:
        """Give the age by which the share `chance` has failed, 0 < chance < 1."""
        return self._age(QuantileTarget(_height(chance)))

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

    def mean_until(self, age: float) -> Estimate:
        """Give the mean life from new up to an age > 0, with the credible interval of the grid."""
        if not 0.0 < age < inf:
            raise InputError(f"age is {age}, must be finite and > 0")
        return self.grid.estimate(
            lambda shape, scale: mean_ahead(shape, scale, stretch=age), level=self.shape.level
        )

    def _robust(self, turn_a: float, turn_m: float, centre: float) -> Estimate | None:
        if self.spread is None:
            return None
        half = self.spread.half_width(turn_a, turn_m)
        return _estimate(Limits(centre, centre - half, centre + half), 0.0, self.shape.level)

    def _age(self, target: Target) -> Estimate:
        limits = self._limits(target)
        return _estimate(limits, self.likelihood.unit, self.shape.level)

    def _limits(self, target: Target) -> Limits:
        return profile_limits(
            self.likelihood,
            self.maximum,
            target,
            z=normal_reach(self.shape.level),
            is_calibrated=self.is_calibrated,
        )


def weibull_fit(lives: Lives, *, level: float = 0.95, calibrated: bool = True) -> WeibullFit:
    """Fit a Weibull life by maximum likelihood.

    Parameters
    ----------
    lives : Lives
        Censored and entered in any way.
    level : float
        Coverage of the intervals, 0.5 to below 1.
    calibrated : bool
        Whether intervals are calibrated for few failures; plain profile-likelihood ones else.

    Raises
    ------
    CannotTellError
        If nothing failed, or the lives leave the shape without an end.
    InputError
        If level is out of range.

    Examples
    --------
    >>> ages = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10
    >>> fit = weibull_fit(Lives.observed(ages, [1] * 10 + [0] * 10), calibrated=False)
    >>> print(fit.shape)
    1.7208 (0.905645 to 2.88574)
    """
    if not 0.5 <= level < 1.0:
        raise InputError(f"level is {level}, must be at least 0.5 and below 1")
    z = normal_reach(level)
    likelihood = likelihood_of(lives)
    maximum = maximum_of(likelihood)
    shape, scale = (
        profile_limits(likelihood, maximum, target, z=z, is_calibrated=calibrated)
        for target in (ShapeTarget(), QuantileTarget(0.0))
    )
    return WeibullFit(
        shape=_estimate(shape, 0.0, level),
        scale=_estimate(scale, likelihood.unit, level),
        log_likelihood=maximum.terms.value + likelihood.constant,
        count=lives.count,
        failures=lives.failures,
        clock=lives.clock,
        is_calibrated=calibrated,
        likelihood=likelihood,
        maximum=maximum,
        spread=office_spread(lives, likelihood, maximum, level=level),
    )


def _height(chance: float) -> float:
    """Give ln of the cumulative hazard at which this share has failed."""
    if not 0.0 < chance < 1.0:
        raise InputError(f"chance is {chance}, must lie between 0 and 1")
    return log(-log1p(-chance))


def _estimate(limits: Limits, unit: float, level: float) -> Estimate:
    """Give limits of a log as an estimate of the number."""
    value, low, high = (_exp(end + unit) for end in limits)
    return Estimate(value, low, high, level)


def _exp(value: float) -> float:
    if isinf(value):
        return inf if value > 0.0 else 0.0
    return exp(value) if value < 700.0 else inf
