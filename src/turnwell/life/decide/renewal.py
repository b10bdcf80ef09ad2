"""When to renew a unit whose Weibull life is known, and what that costs.

Age replacement: renewed at age T at a planned cost, or at failure at a higher one. Costs over time
are ``[planned S(T) + failure (1 - S(T))] / (area under S to T)``; they have a least value inside
only where the hazard rises and a failure costs more. Minimal repair: each failure is repaired and
leaves the age as it was, and the unit is renewed at age T; ``T = scale (renewal / (repair (shape -
1)))^(1/shape)``.

References
----------
[BARLOWHUNTER1960]; [BARLOWPROSCHAN1965], 4.
"""

from dataclasses import dataclass
from math import inf, isfinite, lgamma, log

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError
from turnwell.life.weibull import mean_ahead, survival_ahead

__all__ = [
    "Renewal",
    "check_cost",
    "minimal_repair_interval",
    "renewal_age",
    "renewal_ages",
    "renewal_cost",
    "run_to_failure_cost",
]

# An age that fewer than one in 1e12 reach is none at which to renew.
_LONGEST_HAZARD = 12.0 * log(10.0)
_MOST_STEPS = 60
_SMALL = 1e-12


@dataclass(frozen=True, slots=True)
class Renewal:
    """When to renew, and what that costs.

    Parameters
    ----------
    age : float
        Infinite where renewing early never pays.
    cost_rate : float
        Cost for each unit of the clock when renewed at that age.
    cost_rate_unrenewed : float
        The same when never renewed early.
    """

    age: float
    cost_rate: float
    cost_rate_unrenewed: float


def renewal_age(shape: float, scale: float, *, planned_cost: float, failure_cost: float) -> Renewal:
    """Give the age at which to replace a unit of known life.

    Parameters
    ----------
    shape, scale : float
        > 0, finite.
    planned_cost, failure_cost : float
        Of a replacement in time, and after a failure, > 0. Where the latter is no larger, or the
        shape is 1 or below, the age is infinite.

    Raises
    ------
    InputError
        If a number is out of range.

    Examples
    --------
    >>> best = renewal_age(2.5, 1000.0, planned_cost=1.0, failure_cost=5.0)
    >>> round(best.age, 2), round(best.cost_rate, 7), round(best.cost_rate_unrenewed, 7)
    (493.05, 0.003462, 0.0056353)
    """
    _check_life(shape, scale)
    ratio = check_cost(failure_cost, "failure_cost") / check_cost(planned_cost, "planned_cost")
    age = float(renewal_ages(np.array([shape]), np.array([scale]), ratio=ratio)[0])
    costs = {"planned_cost": planned_cost, "failure_cost": failure_cost}
    return Renewal(
        age=age,
        cost_rate=float(renewal_cost(shape, scale, age=age, **costs)),
        cost_rate_unrenewed=run_to_failure_cost(shape, scale, failure_cost=failure_cost),
    )


def run_to_failure_cost(shape: float, scale: float, *, failure_cost: float) -> float:
    """Give the cost for each unit of the clock when a unit is replaced at failure only.

    Examples
    --------
    >>> run_to_failure_cost(1.0, 1000.0, failure_cost=5.0)
    0.005
    """
    _check_life(shape, scale)
    check_cost(failure_cost, "failure_cost")
    return float(
        renewal_cost(shape, scale, age=inf, planned_cost=failure_cost, failure_cost=failure_cost)
    )


def minimal_repair_interval(
    shape: float, scale: float, *, renewal_cost: float, repair_cost: float
) -> Renewal:
    """Give the age at which to renew a unit that repairs leave as old as it was.

    Parameters
    ----------
    shape, scale : float
        Of the power law of its failures, > 0, finite; at a shape of 1 or below the age is infinite.
    renewal_cost, repair_cost : float
        Of a renewal, and of each repair before it, > 0.

    Raises
    ------
    InputError
        If a number is out of range.

    Examples
    --------
    >>> best = minimal_repair_interval(2.5, 1000.0, renewal_cost=1.0, repair_cost=5.0)
    >>> round(best.age, 4), round(best.cost_rate, 8)
    (446.6584, 0.00373141)
    """
    _check_life(shape, scale)
    check_cost(renewal_cost, "renewal_cost")
    check_cost(repair_cost, "repair_cost")
    if shape <= 1.0:
        # What repairs cost in the long run: ever less, or the same, for each unit of the clock.
        unrenewed = repair_cost / scale if shape == 1.0 else 0.0
        return Renewal(inf, unrenewed, unrenewed)
    age = scale * (renewal_cost / (repair_cost * (shape - 1.0))) ** (1.0 / shape)
    rate = (renewal_cost + repair_cost * (age / scale) ** shape) / age
    return Renewal(age, rate, inf)


def renewal_cost(
    shape: ArrayLike, scale: ArrayLike, *, age: ArrayLike, planned_cost: float, failure_cost: float
) -> NDArray[np.float64]:
    """Give the cost for each unit of the clock when replaced at an age or at failure."""
    passed = survival_ahead(shape, scale, stretch=age)
    cost = planned_cost * passed + failure_cost * (1.0 - passed)
    return np.asarray(cost / mean_ahead(shape, scale, stretch=age), dtype=np.float64)


def renewal_ages(
    shape: NDArray[np.float64], scale: NDArray[np.float64], *, ratio: float
) -> NDArray[np.float64]:
    """Give the best ages for many lives; infinite where renewing early never pays.

    Solves ``hazard(T) * area(T) - (1 - S(T)) = 1 / (ratio - 1)`` by Newton steps in logs, in which
    the left side is nearly straight and rises throughout.

    Parameters
    ----------
    shape, scale : array, shape (m,)
    ratio : float
        Cost of a failure over the planned one, > 0.
    """
    ages = np.full(shape.shape, np.inf)
    rising = shape > 1.0
    if ratio <= 1.0 or not rising.any():
        return ages
    b = shape[rising]
    wanted = -log(ratio - 1.0)
    longest = np.log(_LONGEST_HAZARD) / b
    # Where the area is as long as the age itself, which makes the first step too short, never long.
    place = np.minimum((wanted - np.log(b - 1.0)) / b, longest)
    for _ in range(_MOST_STEPS):
        u = np.exp(place)
        area = mean_ahead(b, 1.0, stretch=u)
        hazard = b * u ** (b - 1.0)
        # Taken apart where both sides are small, which would cost the difference its digits.
        left = np.where(u**b < _SMALL, (b - 1.0) * u**b, hazard * area + np.expm1(-(u**b)))
        step = (wanted - np.log(left)) * left / ((b - 1.0) * hazard * area)
        new = np.clip(place + np.clip(step, -1.0, 1.0), -700.0, longest)
        moved = np.max(np.abs(new - place))
        place = new
        if moved < _SMALL:
            break
    ages[rising] = np.where(place < longest, np.exp(place) * scale[rising], np.inf)
    return ages


def check_cost(cost: float, what: str) -> float:
    """Give back a cost that is finite and > 0, or refuse it."""
    if not (isfinite(cost) and cost > 0.0):
        raise InputError(f"{what} is {cost}, must be finite and > 0")
    return cost


def _check_life(shape: float, scale: float) -> None:
    if not 0.05 <= shape <= 1e4:
        raise InputError(f"shape is {shape}, must lie between 0.05 and 10,000")
    if not (isfinite(scale) and scale > 0.0 and isfinite(lgamma(1.0 + 1.0 / shape))):
        raise InputError(f"scale is {scale}, must be finite and > 0")
