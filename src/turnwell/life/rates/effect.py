"""What an action at an office would bring: returns prevented a year, and money.

Returns prevented are the office's own yearly returns, drawn toward its shop, times the share of
them that has the cause the action is against, times the share of those that the action prevents.
Each factor is known as a distribution, and so is the product.

References
----------
Shares of causes with a Dirichlet prior: [GOOD1965]. The share prevented has a beta prior, which
comparisons before and after update; what regression to the mean does is out of them by
`turnwell.life.change`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf, isfinite, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import CannotTellError, InputError
from turnwell.life.estimate import Estimate
from turnwell.life.rates.amount import Amount
from turnwell.life.rates.change import Change
from turnwell.life.rates.predictive import Predictive
from turnwell.life.tails import tail_of

__all__ = [
    "Action",
    "CauseCounts",
    "Effectiveness",
    "ExpectedEffect",
    "effectiveness",
    "expected_effects",
    "mean_cost",
    "yearly_returns",
]

# Cells over the share prevented.
CELLS = 256
# Weight of the shop's shares, in settled returns of the office. Own choice.
SHOP_WEIGHT = 5.0
# Points of a gamma distribution inside one part of a mixture.
PART_POINTS = (np.arange(12) + 0.5) / 12


@dataclass(frozen=True, slots=True, eq=False)
class Effectiveness:
    """Share of the returns by its causes that an action prevents.

    Parameters
    ----------
    share : array, shape (n,)
        Shares between 0 and 1.
    chance : array, shape (n,)
        How likely each is; adds up to 1.
    comparisons : int
        Comparisons before and after that it rests on, beside the prior.
    """

    share: NDArray[np.float64]
    chance: NDArray[np.float64]
    comparisons: int

    @property
    def amount(self) -> Amount:
        """The share as an amount to be multiplied."""
        return Amount.of(self.share, self.chance)

    def estimate(self, level: float = 0.95) -> Estimate:
        """Give the mean share with its credible interval."""
        mean, below = float(self.share @ self.chance), np.cumsum(self.chance)
        tail = tail_of(level)
        low, high = np.interp([tail, 1.0 - tail], below - self.chance / 2.0, self.share)
        return Estimate(mean, min(float(low), mean), max(float(high), mean), level)


def effectiveness(alpha: float, beta: float, comparisons: Iterable[Change] = ()) -> Effectiveness:
    """Give what is known of the share of returns that an action prevents.

    Parameters
    ----------
    alpha, beta : float
        Beta prior of the share, > 0: alpha / (alpha + beta) is expected, on the weight of
        alpha + beta returns.
    comparisons : iterable of Change
        Returns by the action's causes before and after it, office by office, each from
        `turnwell.life.change` so that a bad spell's end does not count as effect.

    Notes
    -----
    An action is taken to prevent something or nothing, not to do harm. Comparisons are taken as
    independent given the share; an action whose effect differs between offices is known less well
    than this says.

    Examples
    --------
    >>> found = effectiveness(2.0, 3.0).estimate()
    >>> print(f"{found.value:.3f} ({found.low:.3f} to {found.high:.3f})")
    0.400 (0.068 to 0.806)
    """
    from scipy.special import betainc

    if not (0.0 < alpha < inf and 0.0 < beta < inf):
        raise InputError(f"alpha is {alpha} and beta {beta}; both must be finite and > 0")
    edges = np.linspace(0.0, 1.0, CELLS + 1)
    share = (edges[1:] + edges[:-1]) / 2.0
    seen = tuple(comparisons)
    with np.errstate(divide="ignore"):
        log_chance = np.log(np.diff(betainc(alpha, beta, edges)))
        for one in seen:
            log_chance += np.log(one.without_change.exactly(one.after.count, factor=1.0 - share))
    if not np.isfinite(log_chance.max()):
        raise CannotTellError("the comparisons fit no share prevented; look over their counts")
    chance = np.exp(log_chance - log_chance.max())
    return Effectiveness(share, chance / chance.sum(), len(seen))


@dataclass(frozen=True, slots=True)
class CauseCounts:
    """Causes of an office's returns.

    Parameters
    ----------
    settled : mapping of str to float
        Returns by settled cause, >= 0; weights may be broken numbers.
    unsettled : float
        Returns whose cause nobody settled, >= 0.
    """

    settled: Mapping[str, float]
    unsettled: float = 0.0

    def __post_init__(self) -> None:
        for name, count in (*self.settled.items(), ("unsettled", self.unsettled)):
            if not isfinite(count) or count < 0.0:
                raise InputError(f"the count of {name} is {count}, must be finite and >= 0")

    @property
    def total(self) -> float:
        """Returns with a settled cause."""
        return float(sum(self.settled.values()))


@dataclass(frozen=True, slots=True)
class Action:
    """Something an office can do against causes.

    Parameters
    ----------
    key : str
    causes : tuple of str
        Causes it works against, one at least.
    effectiveness : Effectiveness
        Share of the returns by these causes that it prevents.
    """

    key: str
    causes: tuple[str, ...]
    effectiveness: Effectiveness = field(repr=False)

    def __post_init__(self) -> None:
        if not self.causes:
            raise InputError(f"action {self.key} works against no cause; name one at least")


@dataclass(frozen=True, slots=True)
class ExpectedEffect:
    """What an action would bring an office.

    Parameters
    ----------
    key : str
        Of the action.
    prevented : Estimate
        Returns prevented a year on average, with the credible interval of that average.
    money : Estimate or None
        The same times the mean cost of a return; None where no cost was given.
    cause_share : Estimate
        Share of the office's returns that have the action's causes.
    effectiveness : Estimate
        Share of those that the action prevents.
    """

    key: str
    prevented: Estimate
    money: Estimate | None
    cause_share: Estimate
    effectiveness: Estimate


def yearly_returns(outlook: Predictive) -> Amount:
    """Give an office's mean returns a year as an amount.

    Parameters
    ----------
    outlook : Predictive
        From `turnwell.life.outlook` with a year ahead: a gamma distribution for each part, whose
        Poisson counts it predicts.

    Examples
    --------
    >>> year = Predictive(np.array([2.0]), np.array([4.0]), np.ones(1))
    >>> round(yearly_returns(year).mean, 6)
    2.0
    """
    from scipy.special import gammaincinv

    shape = np.minimum(outlook.shape, 1e8)[:, None]
    points = gammaincinv(shape, PART_POINTS)
    # The points' own mean lies a little off the part's.
    points *= outlook.mean[:, None] / points.mean(axis=1, keepdims=True)
    return Amount.of(points, np.broadcast_to(outlook.weight[:, None], points.shape))


def mean_cost(costs: ArrayLike) -> Amount:
    """Give the mean cost of a return from what returns cost, in the same money.

    Raises
    ------
    CannotTellError
        With fewer than two: one cost tells nothing of how they differ.

    Examples
    --------
    >>> round(mean_cost([80.0, 120.0, 100.0]).mean, 6)
    100.0
    """
    paid = np.asarray(costs, dtype=np.float64)
    if np.any(~np.isfinite(paid) | (paid < 0.0)):
        raise InputError("a cost must be finite and >= 0")
    if paid.size < 2 or paid.sum() == 0.0:
        raise CannotTellError(f"{paid.size} costs are known; two that are not 0 are needed")
    return Amount.gamma(float(paid.mean()), float(paid.std(ddof=1)) / sqrt(paid.size))


def expected_effects(
    yearly: Amount,
    causes: CauseCounts,
    shop_shares: Mapping[str, float],
    actions: Sequence[Action],
    *,
    cost: Amount | None = None,
    level: float = 0.95,
) -> tuple[ExpectedEffect, ...]:
    """Rank actions by the returns they are expected to prevent in a year.

    Parameters
    ----------
    yearly : Amount
        The office's returns a year, from `yearly_returns`.
    causes : CauseCounts
        Its own causes.
    shop_shares : mapping of str to float
        Share of each cause in the whole shop; they add up to 1.
    actions : sequence of Action
    cost : Amount or None
        Mean cost of a return.
    level : float
        Level of the credible intervals.

    Raises
    ------
    CannotTellError
        If no return of the office has a settled cause.

    Notes
    -----
    Returns without a settled cause stay so: their causes are spread as in the shop, and known no
    better than that, however many others are settled. Actions against one cause do not add up.

    Examples
    --------
    >>> teach = Action("teach", ("dry",), effectiveness(3.0, 3.0))
    >>> own = CauseCounts({"dry": 6, "worn": 2})
    >>> shop = {"dry": 0.4, "worn": 0.6}
    >>> prevented = expected_effects(Amount.gamma(6.0, 1.5), own, shop, [teach])[0].prevented
    >>> print(f"{prevented.value:.1f} ({prevented.low:.1f} to {prevented.high:.1f})")
    1.8 (0.4 to 4.1)
    """
    if abs(sum(shop_shares.values()) - 1.0) > 1e-6 or min(shop_shares.values(), default=0.0) < 0.0:
        raise InputError("the shop's shares of causes must be >= 0 and add up to 1")
    if causes.total == 0.0:
        raise CannotTellError(
            "no return of this office has a settled cause; settle the cause of one at least"
        )
    found = [
        _effect(yearly, _cause_share(causes, shop_shares, each.causes), each, cost, level)
        for each in actions
    ]
    return tuple(sorted(found, key=lambda effect: -effect.prevented.value))


def _effect(
    yearly: Amount,
    share: Amount,
    action: Action,
    cost: Amount | None,
    level: float,
) -> ExpectedEffect:
    prevented = yearly.times(share).times(action.effectiveness.amount)
    return ExpectedEffect(
        action.key,
        prevented.estimate(level),
        None if cost is None else prevented.times(cost).estimate(level),
        share.estimate(level),
        action.effectiveness.estimate(level),
    )


def _cause_share(
    causes: CauseCounts, shop_shares: Mapping[str, float], wanted: Sequence[str]
) -> Amount:
    """Give the share of an office's returns that have the wanted causes."""
    names = set(wanted)
    own = sum(causes.settled.get(name, 0.0) for name in names)
    shop = min(1.0, sum(shop_shares.get(name, 0.0) for name in names))
    weight = SHOP_WEIGHT + causes.total
    settled = (SHOP_WEIGHT * shop + own) / weight
    open_share = causes.unsettled / (causes.total + causes.unsettled)
    mean = (1.0 - open_share) * settled + open_share * shop
    variance = (1.0 - open_share) ** 2 * settled * (1.0 - settled) / (weight + 1.0)
    variance += open_share**2 * shop * (1.0 - shop) / (SHOP_WEIGHT + 1.0)
    if variance <= 1e-12:
        return Amount.exactly(mean)
    total = mean * (1.0 - mean) / variance - 1.0
    return Amount.beta(total * mean, total * (1.0 - mean))
