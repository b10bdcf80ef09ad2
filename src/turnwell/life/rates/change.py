"""Did an office's returns change: before against after a visit, a bad spell allowed for.

An office is often visited because of a bad spell, and a bad spell is partly bad luck, which ends by
itself. The plain ratio takes that end for an effect. Here the later count is held against what the
office's handpieces would have done unchanged, given their earlier counts and how much offices and
handpieces of the shop differ. Given all that was seen, it does not matter why the office was chosen
[RUBIN1976].

References
----------
Regression to the mean: [GALTON1886]. Its correction by the population's spread: [HAUER1997].
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, log

import numpy as np
from numpy.typing import ArrayLike

from turnwell.errors import InputError
from turnwell.life.estimate import Estimate
from turnwell.life.rates.outlook import Window, outlook
from turnwell.life.rates.poisson import RateRatio, rate_ratio
from turnwell.life.rates.predictive import Predictive
from turnwell.life.rates.spread import ShopSpread
from turnwell.life.tails import tail_of
from turnwell.words import Message

__all__ = ["Change", "Spell", "change", "spell"]

# A spell as high as this or higher comes up in fewer than one of ten stretches: named unusual.
UNUSUAL = 0.1
# Change factors searched; beyond, an end of the interval is open.
LEAST_FACTOR, MOST_FACTOR = 1e-5, 1e5


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """An office's returns before and after a day, compared.

    Parameters
    ----------
    before, after : Window
        Counts and expected counts of its handpieces.
    without_change : Predictive
        Count of the later window had nothing changed.
    factor : Estimate
        What the office's rate was multiplied by; confidence interval, open above where the earlier
        window says nearly nothing. The value has as much chance above as below.
    p : float
        Central two-sided p-value of no change; below 1 - level exactly where the interval of
        `factor` leaves 1 out.
    plain : RateRatio or None
        Observed over expected after, over the same before, for Poisson counts. Not to be concluded
        from: it is wrong where the office was chosen for its spell. None without any return.
    """

    before: Window
    after: Window
    without_change: Predictive
    factor: Estimate
    p: float
    plain: RateRatio | None

    @property
    def is_changed(self) -> bool:
        """True where chance, bad spells included, does not explain the later count."""
        return self.p < 1.0 - self.factor.level

    @property
    def by_itself(self) -> float:
        """What the raw rate would be multiplied by without any change; infinite after no return.

        Below 1 the earlier window was bad luck in part: 0.7 means that three tenths of the fall
        come by themselves.
        """
        raw = self.before.count / self.before.risk * self.after.risk
        return self.without_change.expected / raw if raw > 0.0 else inf

    def longer_window(self, *, factor: float = 0.5) -> float:
        """Give how many times as long the later window must be to show a change by `factor`.

        Parameters
        ----------
        factor : float
            Change to be shown, > 0 and not 1: the later count is then taken as what this change
            would give on average.

        Returns
        -------
        float
            At least 1; infinite where 64 times would not do, as the earlier window says too little.
        """
        if not 0.0 < factor < inf or factor == 1.0:
            raise InputError(f"factor is {factor}, must be > 0 and not 1")
        tail = tail_of(self.factor.level)
        times = 1.0
        while times <= 64.0:
            later = self.without_change.mean * times
            ahead = Predictive(later, self.without_change.shape, self.without_change.weight)
            count = round(factor * ahead.expected)
            if min(ahead.at_most(count), ahead.at_least(count)) < tail:
                return times
            times *= 1.25
        return inf

    def sentence(self) -> Message:
        """Say in one sentence whether returns changed."""
        unchanged = self.without_change.interval(self.factor.level)
        figures = {
            "after": self.after.count,
            "expected": unchanged.value,
            "low": int(unchanged.low),
            "high": int(unchanged.high),
        }
        if not self.is_changed:
            return Message("life_rates.change.open", figures)
        way = "fewer" if self.factor.value < 1.0 else "more"
        return Message(f"life_rates.change.{way}", figures)

    def warning(self) -> Message | None:
        """Warn where the plain ratio would fall by itself; None where it would not."""
        if self.by_itself >= 1.0:
            return None
        share = 100.0 * (1.0 - self.by_itself)
        return Message("life_rates.change.by_itself", {"share": share})


@dataclass(frozen=True, slots=True, eq=False)
class Spell:
    """How unusual a spell is for its office.

    Parameters
    ----------
    count : int
        Returns in the spell.
    expected : Estimate
        What the rest of its history and the shop let expect; predictive interval.
    chance : float
        Chance that a spell of this office holds as many or more.
    looked_at : int
        Among how many spells this one was the worst.
    """

    count: int
    expected: Estimate
    chance: float
    looked_at: int

    @property
    def chance_of_any(self) -> float:
        """Chance that the worst of so many spells is as bad, were all as usual."""
        return float(-np.expm1(self.looked_at * np.log1p(-min(self.chance, 1.0 - 1e-16))))

    @property
    def is_bad(self) -> bool:
        """True where the office had clearly more returns than its own expectation."""
        return self.chance <= UNUSUAL and self.count > self.expected.value

    def sentence(self) -> Message:
        """Say how the spell compares, and what that means for reading what follows."""
        kind = "bad" if self.is_bad else "usual"
        figures = {
            "count": self.count,
            "expected": self.expected.value,
            "percent": 100.0 * self.chance,
        }
        return Message(f"life_rates.spell.{kind}", figures)


def change(
    before_counts: ArrayLike,
    before_expected: ArrayLike,
    after_counts: ArrayLike,
    after_expected: ArrayLike,
    *,
    shop: ShopSpread,
    level: float = 0.95,
) -> Change:
    """Compare an office's returns before and after a day.

    Parameters
    ----------
    before_counts, after_counts : array of int, shape (n,)
        Returns of each handpiece of the office in either window, in one order.
    before_expected, after_expected : array, shape (n,)
        What the shop's rates of the same time give for each; 0 where it was not at risk. With rates
        of the same time, what changed in the whole shop does not pass for the visit's effect.
    shop : ShopSpread
        Level and spreads, from `turnwell.life.shrink` of the whole shop before that day.
    level : float
        Level of the interval.

    Raises
    ------
    InputError
        If shapes differ, a number is out of range, or nothing was at risk after.

    Notes
    -----
    Valid whatever in the earlier counts had the office chosen. Assumes that an unchanged office and
    its handpieces keep their rates, and that rates are gamma distributed.

    Examples
    --------
    >>> from turnwell.life import shrink
    >>> shop = shrink([3, 5, 2, 14, 4, 6], [5.0] * 6).spread
    >>> found = change([4, 6], [2.5, 2.5], [1, 2], [2.5, 2.5], shop=shop)
    >>> found.is_changed, round(found.by_itself, 2)
    (False, 0.83)
    >>> print(f"{found.factor.value:.2f} ({found.factor.low:.2f} to {found.factor.high:.2f})")
    0.40 (0.07 to 1.37)
    """
    before = Window.of(before_counts, before_expected)
    after = Window.of(after_counts, after_expected)
    if after.risk == 0.0:
        raise InputError("nothing was at risk after that day; wait until the window has begun")
    unchanged = outlook(shop, before, after.expected)
    count = after.count
    p = min(1.0, 2.0 * min(unchanged.at_most(count), unchanged.at_least(count)))
    plain = None
    if before.risk > 0.0 and before.count + count > 0:
        plain = rate_ratio(count, after.risk, before.count, before.risk, level=level)
    return Change(before, after, unchanged, _factor(unchanged, count, level), p, plain)


def _factor(unchanged: Predictive, count: int, level: float) -> Estimate:
    """Give the change factors under which the later count is no surprise."""
    tail = tail_of(level)

    def least(factor: float) -> float:
        return tail - unchanged.at_least(count, factor=factor)

    def middle(factor: float) -> float:
        below = unchanged.at_most(count - 1, factor=factor)
        return below + unchanged.at_most(count, factor=factor) - 1.0

    def most(factor: float) -> float:
        return unchanged.at_most(count, factor=factor) - tail

    low, value = (_root(least), _root(middle)) if count else (0.0, 0.0)
    return Estimate(value, low, _root(most), level)


def _root(falling: Callable[[float], float]) -> float:
    """Give where a falling function of the factor meets 0; 0 or infinity beyond the search."""
    from scipy.optimize import brentq

    if falling(MOST_FACTOR) > 0.0:
        return inf
    if falling(LEAST_FACTOR) < 0.0:
        return 0.0
    found = brentq(lambda x: falling(exp(x)), log(LEAST_FACTOR), log(MOST_FACTOR), xtol=1e-9)
    return exp(found)


def spell(
    counts: ArrayLike,
    expected: ArrayLike,
    rest_counts: ArrayLike,
    rest_expected: ArrayLike,
    *,
    shop: ShopSpread,
    looked_at: int = 1,
    level: float = 0.95,
) -> Spell:
    """Say how unusual a spell is for its office.

    Parameters
    ----------
    counts, expected : array, shape (n,)
        Returns and expected counts of each handpiece in the spell.
    rest_counts, rest_expected : array, shape (n,)
        The same in the rest of the office's history; zeros where there is none.
    shop : ShopSpread
        From `turnwell.life.shrink` of the whole shop.
    looked_at : int
        Of how many spells this one was the worst, >= 1: of all offices, or of all quarters.
    level : float
        Level of the predictive interval.

    Examples
    --------
    >>> from turnwell.life import shrink
    >>> shop = shrink([3, 5, 2, 14, 4, 6], [5.0] * 6).spread
    >>> seen = spell([4, 3], [1.0, 1.0], [3, 2], [3.0, 3.0], shop=shop, looked_at=6)
    >>> seen.is_bad, round(seen.chance, 3), round(seen.chance_of_any, 2)
    (True, 0.009, 0.05)
    """
    if looked_at < 1:
        raise InputError(f"looked_at is {looked_at}, must be >= 1")
    seen = Window.of(counts, expected)
    rest = Window.of(rest_counts, rest_expected)
    usual = outlook(shop, rest, seen.expected)
    return Spell(seen.count, usual.interval(level), usual.at_least(seen.count), looked_at)
