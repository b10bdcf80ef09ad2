"""Which option costs least per use, and how sure that is."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.life.decide.pace import pace_steps
from turnwell.life.decide.worth import Costs, Worth
from turnwell.words import Message

__all__ = ["Comparison", "compare"]

# Below this chance of costing least the answer is "cannot tell which"; our choice.
SURE = 0.9
_NEARLY_SURE = 0.99


@dataclass(frozen=True, slots=True)
class Comparison:
    """Which option costs least.

    Parameters
    ----------
    best : int
        Place of the likeliest one to cost least, in the order given.
    probability : tuple of float
        Chance of each to cost least; they add up to 1.
    is_settled : bool
        Whether the best one's chance reaches what was asked for.
    message : Message
        One sentence.
    """

    best: int
    probability: tuple[float, ...]
    is_settled: bool
    message: Message


def compare(worths: Sequence[Worth], *, sure: float = SURE) -> Comparison:
    """Say which option costs least per use.

    The lives of different options are taken as independent. A pace that all share is the same
    handpiece in the same office, and makes none dearer than another.

    Parameters
    ----------
    worths : sequence of Worth
        Two at least, counted in one unit, up to one horizon.
    sure : float
        Chance from which the answer is given as one, 0.5 to below 1.

    Raises
    ------
    InputError
        If there are fewer than two, or they cannot be compared.

    Examples
    --------
    >>> from turnwell.life import Lives, Option, weibull_grid, worth_of
    >>> ages = 1000.0 * (-np.log(1.0 - (np.arange(60) + 0.5) / 60)) ** 0.5
    >>> life = weibull_grid(Lives.observed(ages, np.ones(60)))
    >>> options = [
    ...     Option(name="new bearings", price=120.0, life=life),
    ...     Option(name="lubricant", price=35.0, life=life, age=800.0),
    ... ]
    >>> told = compare([worth_of(option, horizon=1500.0) for option in options])
    >>> told.best, told.is_settled
    (1, True)
    """
    _check(worths, sure)
    costs = [worth.costs for worth in worths]
    if any(worth.pace != worths[0].pace for worth in worths):
        costs = [_paced(worth) for worth in worths]
    chances = np.array([_least(place, costs) for place in range(len(costs))])
    # Ties of three and more are shared out in halves above.
    chances /= chances.sum()
    best = int(chances.argmax())
    is_settled = bool(chances[best] >= sure)
    return Comparison(
        best=best,
        probability=tuple(chances.tolist()),
        is_settled=is_settled,
        message=_message(worths, best, float(chances[best]), is_settled),
    )


def _check(worths: Sequence[Worth], sure: float) -> None:
    if len(worths) < 2:
        raise InputError(f"{len(worths)} options cannot be compared; give two at least")
    if not 0.5 <= sure < 1.0:
        raise InputError(f"sure is {sure}, must be at least 0.5 and below 1")
    first = worths[0]
    for worth in worths[1:]:
        if worth.unit != first.unit:
            raise InputError(
                f"{first.name} is counted in {first.unit}, {worth.name} in {worth.unit}; count "
                "both in one, with a pace where needed"
            )
        if worth.clock == first.clock and worth.horizon != first.horizon:
            raise InputError(
                f"{first.name} looks {first.horizon:g} {first.clock} ahead, {worth.name} "
                f"{worth.horizon:g}; take one horizon"
            )


def _paced(worth: Worth) -> Costs:
    """Give the cost per use, each possible pace of this option taken with each possible life."""
    pace = pace_steps(worth.pace)
    value = (worth.costs.value[:, np.newaxis] / pace).ravel()
    weight = np.repeat(worth.costs.weight / pace.size, pace.size)
    order = np.argsort(value, kind="stable")
    return Costs(value[order], weight[order])


def _least(place: int, costs: Sequence[Costs]) -> float:
    """Give the chance that one costs less than every other."""
    own = costs[place]
    chance = own.weight.copy()
    for other in (one for at, one in enumerate(costs) if at != place):
        chance *= 0.5 * (_above(other, own.value, "left") + _above(other, own.value, "right"))
    return float(chance.sum())


def _above(
    costs: Costs, value: NDArray[np.float64], side: Literal["left", "right"]
) -> NDArray[np.float64]:
    """Give the share of costs above values; at them too where side is left."""
    share = np.concatenate([[0.0], np.cumsum(costs.weight)])
    place = np.searchsorted(costs.value, value, side=side)
    return np.asarray(share[-1] - share[place], dtype=np.float64)


def _message(worths: Sequence[Worth], best: int, chance: float, is_settled: bool) -> Message:
    worth = worths[best]
    cost = worth.cost_per_use
    return Message(
        "life_decide.least" if is_settled else "life_decide.cannot_tell_which",
        {
            "name": worth.name,
            "unit": Message(f"life_decide.one_of.{worth.unit}"),
            "cost": cost.value,
            "low": cost.low,
            "high": cost.high,
            "level": cost.level,
            "chance": _chance(chance),
        },
    )


def _chance(chance: float) -> Message:
    """Give a chance in words; near-certainty rests on the model, and is not printed as 100 %."""
    if chance > _NEARLY_SURE:
        return Message("life_decide.chance.above", {"share": _NEARLY_SURE})
    return Message("life_decide.chance.about", {"share": chance})
