"""What a repair or a purchase is worth: uses to expect, cost per use, chance to be back soon.

Uses are counted to the first return, or to the horizon where none came before: that is where the
next decision is made. Cost is the price less what the old one brings, plus the cost of a return
that comes after the warranty and before the horizon, by its chance. What the lives leave open, and
how well the pace is known, are carried through on a grid, without a random number.
"""

from dataclasses import dataclass
from math import inf, isfinite

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.decide.pace import pace_middle, pace_spread
from turnwell.life.estimate import Estimate
from turnwell.life.lives import Clock
from turnwell.life.tails import tail_of
from turnwell.life.weibull import WeibullGrid, mean_ahead, survival_ahead
from turnwell.life.weibull.weighted import smeared_quantiles, weighted_quantiles

__all__ = ["Costs", "Option", "Worth", "worth_of"]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Option:
    """Something that can be done with a handpiece.

    Parameters
    ----------
    name : str
        As a person calls it.
    price : float
        What it costs now, >= 0.
    life : WeibullGrid
        Of handpieces after it.
    age : float
        Age in the life's clock at which it starts: 0 where it makes new, >= 0.
    salvage : float
        What the old one brings, 0 to `price`.
    return_cost : float
        What a return costs that no warranty pays, >= 0.
    warranty : float
        How long a return is free, in the life's clock, >= 0.
    pace : Estimate or None
        Uses for each unit of the clock, with what is known about it; None to count in the clock
        itself, as where that is cycles.
    """

    name: str
    price: float
    life: WeibullGrid
    age: float = 0.0
    salvage: float = 0.0
    return_cost: float = 0.0
    warranty: float = 0.0
    pace: Estimate | None = None

    def __post_init__(self) -> None:
        for what in ("price", "age", "salvage", "return_cost", "warranty"):
            number = getattr(self, what)
            if not 0.0 <= number < inf:
                raise InputError(f"{what} of {self.name} is {number}, must be finite and >= 0")
        if self.salvage > self.price:
            raise InputError(
                f"salvage of {self.name} is {self.salvage:g}, more than its price {self.price:g}"
            )
        if self.pace is not None and not (self.pace.is_bounded and self.pace.low > 0.0):
            raise InputError(
                f"pace of {self.name} is {self.pace}; both ends must be finite and above 0"
            )


@dataclass(frozen=True, slots=True, eq=False)
class Costs:
    """Cost for each unit of the clock, as far as it is known; ascending.

    Parameters
    ----------
    value, weight : array, shape (m,)
        Weights add up to 1.
    """

    value: NDArray[np.float64]
    weight: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Worth:
    """What an option is worth; intervals are credible ones.

    Parameters
    ----------
    name : str
    expected_uses : Estimate
        Mean uses to the first return or the horizon, in `unit`.
    cost_per_use : Estimate
        For each `unit`.
    back_within_warranty : Estimate
        Share of such handpieces that come back within the warranty.
    chance_back : float
        Chance that this one does: the mean of that share.
    horizon : float
        In `clock`.
    clock : Clock
        Of the life.
    unit : str
        ``"uses"`` where a pace was given, else the name of the clock.
    pace : Estimate or None
    costs : Costs
        For comparing, before the pace.
    """

    name: str
    expected_uses: Estimate
    cost_per_use: Estimate
    back_within_warranty: Estimate
    chance_back: float
    horizon: float
    clock: Clock
    unit: str
    pace: Estimate | None
    costs: Costs


def worth_of(option: Option, *, horizon: float, level: float = 0.95) -> Worth:
    """Give what an option is worth up to a horizon.

    Parameters
    ----------
    horizon : float
        How far ahead uses count, in the life's clock, > 0.
    level : float
        Coverage of the intervals, 0.5 to below 1.

    Raises
    ------
    InputError
        If the horizon or the level is out of range.

    Examples
    --------
    >>> from turnwell.life import Lives, weibull_grid
    >>> ages = 1000.0 * (-np.log(1.0 - (np.arange(60) + 0.5) / 60)) ** 0.5
    >>> life = weibull_grid(Lives.observed(ages, np.ones(60), clock=Clock.CYCLES))
    >>> repair = Option(name="new bearings", price=120.0, life=life, warranty=200.0)
    >>> worth = worth_of(repair, horizon=1500.0)
    >>> told = worth.expected_uses
    >>> [round(end) for end in (told.low, told.value, told.high)], worth.unit
    ([756, 858, 958], 'cycles')
    """
    if not (isfinite(horizon) and horizon > 0.0):
        raise InputError(f"horizon is {horizon}, must be finite and > 0")
    if not 0.5 <= level < 1.0:
        raise InputError(f"level is {level}, must be at least 0.5 and below 1")
    life, warranty = option.life, min(option.warranty, horizon)
    ahead = mean_ahead(life.shape, life.scale, stretch=horizon, age=option.age)
    back = _returned(option, option.warranty)
    later = _returned(option, horizon) - _returned(option, warranty)
    cost = option.price - option.salvage + option.return_cost * later
    # A life that ends at once makes each use endlessly dear.
    with np.errstate(divide="ignore"):
        rate = np.where(cost > 0.0, cost / ahead, 0.0)
    order = np.argsort(rate, kind="stable")
    return Worth(
        name=option.name,
        expected_uses=_paced(ahead, option, level),
        cost_per_use=_paced(rate, option, level, sign=-1),
        back_within_warranty=life.estimate(lambda *_: back, level=level),
        chance_back=float(life.weight @ back),
        horizon=horizon,
        clock=life.clock,
        unit=life.clock.value if option.pace is None else "uses",
        pace=option.pace,
        costs=Costs(rate[order], life.weight[order]),
    )


def _returned(option: Option, stretch: float) -> NDArray[np.float64]:
    life = option.life
    return 1.0 - survival_ahead(life.shape, life.scale, stretch=stretch, age=option.age)


def _paced(values: NDArray[np.float64], option: Option, level: float, *, sign: int = 1) -> Estimate:
    """Give median and interval of values times the pace, or over it where sign is -1."""
    pace, weights = option.pace, option.life.weight
    tail = tail_of(level)
    chances = [tail, 0.5, 1.0 - tail]
    if pace is None:
        ends = weighted_quantiles(values, weights, chances)
    else:
        ends = smeared_quantiles(values, weights, chances, spread=pace_spread(pace))
        ends = ends * pace_middle(pace) ** sign
    low, value, high = ends.tolist()
    return Estimate(value, low, high, level)
