"""When to replace before failure, from a fit, with what the lives leave open carried through."""

from dataclasses import dataclass
from math import ceil, log

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.decide.renewal import check_cost, renewal_ages, renewal_cost
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock
from turnwell.life.weibull import WeibullFit

__all__ = ["AgeReplacement", "age_replacement"]


@dataclass(frozen=True, slots=True)
class AgeReplacement:
    """When to replace, and what it saves; credible intervals at the level of the fit.

    Parameters
    ----------
    age : Estimate
        In `clock`; an infinite end says that replacing early may not pay.
    cost_rate : Estimate
        Cost for each unit of the clock, each possible life replaced at the value of `age`.
    run_to_failure : Estimate
        The same when replaced at failure only.
    saving : Estimate
        Share of the latter that replacing at the value of `age` saves; below 0 it costs.
    clock : Clock
    """

    age: Estimate
    cost_rate: Estimate
    run_to_failure: Estimate
    saving: Estimate
    clock: Clock


def age_replacement(fit: WeibullFit, planned_cost: float, failure_cost: float) -> AgeReplacement:
    """Give the age at which to replace before failure.

    Parameters
    ----------
    planned_cost, failure_cost : float
        Of a replacement in time, and after a failure (what the failure itself costs included).

    Raises
    ------
    CannotTellError
        If the shape may be 1 or below: then a unit that ran is as good as new or better. With more
        than one office the interval over offices counts too.
    InputError
        If a cost is not above 0, or a failure costs no more than a replacement in time.

    Examples
    --------
    >>> from turnwell.life import Lives, weibull_fit
    >>> ages = 1000.0 * (-np.log(1.0 - (np.arange(60) + 0.5) / 60)) ** 0.4
    >>> best = age_replacement(weibull_fit(Lives.observed(ages, np.ones(60))), 1.0, 5.0)
    >>> [round(end) for end in (best.age.low, best.age.value, best.age.high)]
    [445, 497, 555]
    """
    ratio = check_cost(failure_cost, "failure_cost") / check_cost(planned_cost, "planned_cost")
    if ratio <= 1.0:
        raise InputError(
            f"a failure costs {failure_cost:g} and a replacement in time {planned_cost:g}: with no "
            "more to lose, replace at failure"
        )
    _refuse_doubt(fit)
    grid, level = fit.grid, fit.shape.level
    age = grid.estimate(lambda b, eta: renewal_ages(b, eta, ratio=ratio), level=level)

    def planned(b: NDArray[np.float64], eta: NDArray[np.float64]) -> NDArray[np.float64]:
        return renewal_cost(
            b, eta, age=age.value, planned_cost=planned_cost, failure_cost=failure_cost
        )

    def at_failure(b: NDArray[np.float64], eta: NDArray[np.float64]) -> NDArray[np.float64]:
        return renewal_cost(
            b, eta, age=np.inf, planned_cost=planned_cost, failure_cost=failure_cost
        )

    return AgeReplacement(
        age=age,
        cost_rate=grid.estimate(planned, level=level),
        run_to_failure=grid.estimate(at_failure, level=level),
        saving=grid.estimate(
            lambda b, eta: 1.0 - planned(b, eta) / at_failure(b, eta), level=level
        ),
        clock=fit.clock,
    )


def _refuse_doubt(fit: WeibullFit) -> None:
    robust = fit.robust_shape
    low = fit.shape.low if robust is None else min(fit.shape.low, robust.low)
    if low > 1.0:
        return
    shape = fit.shape.value
    if shape <= 1.0 or low <= 0.0:
        raise CannotTellError(
            f"the shape is {shape:.3g} and may be as low as {low:.3g}: nothing says that they wear "
            "out, so replacing before failure cannot be shown to pay"
        )
    # The distance of the lower end, in ln shape, shrinks with the root of the failures.
    needed = ceil(fit.failures * (log(shape / low) / log(shape)) ** 2) - fit.failures
    raise CannotTellError(
        f"the shape is {shape:.3g} but may be as low as {low:.3g}: whether replacing before "
        f"failure pays cannot be told; about {max(needed, 1)} more failures like these would tell"
    )
