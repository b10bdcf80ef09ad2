"""Simulated shops whose truth is known: what the methods of lives and returns are held against.

Each office has a factor on the rate at which its handpieces come back, each handpiece one of its
own (its frailty), both gamma with mean 1. A handpiece comes back by a power law of its age (a
repair leaves it as it was) or by Weibull lives from repair to repair (a repair makes it new). The
whole path from its first day of service is drawn; the book sees only what lies in its watch: from a
count at a visit, or from the hand-back of the stay by which it became known, to the end or its
retirement. Bench time is none. A training may take away a share of the returns of the first cause;
it may also change nothing.
"""

from dataclasses import dataclass, replace
from enum import Enum, auto
from math import gamma

import numpy as np
from numpy.typing import NDArray

from turnwell.life import Clock, Histories, Lives

__all__ = ["DAYS_A_YEAR", "Counts", "Law", "Plan", "Shop", "simulated_shop"]

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

DAYS_A_YEAR = 365.25
# Age at which a power law has the plan's rate as its mean rate so far.
POWER_LAW_AGE_DAYS = 1000.0


class Law(Enum):
    """How a handpiece comes back."""

    POWER = auto()
    RENEWAL = auto()


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What a shop is drawn from.

    Parameters
    ----------
    offices : int
    handpieces : float
        Mean of an office's, Poisson, but one at least.
    days : float
        How long the book is kept; day 0 is its first.
    rate_a_year : float
        Returns a year of a handpiece whose factors are 1: one by its mean life (renewal), or up to
        an age of 1000 days (power law).
    office_spread, handpiece_spread : float
        Variance of the factors, mean 1; 0 for none.
    law, shape
        `Law.POWER`: mean returns rise with age ** shape; `Law.RENEWAL`: Weibull lives of shape.
    oldest_days : float
        Ages on day 0 are uniform up to it.
    joining : float
        Share that goes into service after day 0, at any day.
    known_by_failure : float
        Share of the others that the book knows from their first stay on only.
    retired_a_year : float
        Rate of retirement, whatever the returns.
    causes : tuple of float
        Shares of the causes; they sum to 1.
    trained : float
        Share of offices that are trained, at a day in the middle half of the book.
    prevented : float
        Share of the returns of the first cause that a training takes away; 0 changes nothing.
    """

    offices: int = 30
    handpieces: float = 15.0
    days: float = 3 * DAYS_A_YEAR
    rate_a_year: float = 0.6
    office_spread: float = 0.15
    handpiece_spread: float = 0.3
    law: Law = Law.POWER
    shape: float = 1.0
    oldest_days: float = 1500.0
    joining: float = 0.2
    known_by_failure: float = 0.0
    retired_a_year: float = 0.05
    causes: tuple[float, ...] = (0.4, 0.3, 0.2, 0.1)
    trained: float = 0.0
    prevented: float = 0.0

    @property
    def scale_days(self) -> float:
        """Scale of the hazard of a handpiece whose factors are 1."""
        mean_days = DAYS_A_YEAR / self.rate_a_year
        if self.law is Law.RENEWAL:
            return mean_days / gamma(1.0 + 1.0 / self.shape)
        due = POWER_LAW_AGE_DAYS / mean_days
        return float(POWER_LAW_AGE_DAYS * due ** (-1.0 / self.shape))


@dataclass(frozen=True, slots=True, eq=False)
class Counts:
    """Returns and time at risk of each handpiece (or office) between two days."""

    office: Places
    count: Places
    exposure_days: Floats
    offices: int

    def by_office(self) -> "Counts":
        """Add up over the handpieces of each office; all offices, empty ones too."""
        count = np.bincount(self.office, self.count, self.offices).astype(np.intp)
        exposure = np.bincount(self.office, self.exposure_days, self.offices)
        return Counts(np.arange(self.offices), count, exposure, self.offices)

    def expected(self) -> Floats:
        """Give what each would have at the rate of all together."""
        return self.exposure_days * (self.count.sum() / self.exposure_days.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Shop:
    """A simulated shop: what the book knows, and the truth behind it.

    Parameters
    ----------
    plan : Plan
    office : array of int, shape (k,)
        Of each handpiece that the book knows.
    in_service, start, stop : array, shape (k,)
        Day of its first use (below 0: before the book), and days between which it was watched.
    was_repaired : array of bool, shape (k,)
        Whether it had failed before its watch or by its entry: its first life is over then.
    from_repair : array of bool, shape (k,)
        Whether its watch began by a hand-back, so that a life after repair begins there.
    unit, day, cause : array, shape (m,)
        Of each return: whose, when (in order), of which cause.
    office_factor, frailty : array
        The truth: of each office, of each handpiece.
    trained_on : array, shape (offices,)
        Day of each office's training; infinite where there was none.
    """

    plan: Plan
    office: Places
    in_service: Floats
    start: Floats
    stop: Floats
    was_repaired: NDArray[np.bool_]
    from_repair: NDArray[np.bool_]
    unit: Places
    day: Floats
    cause: Places
    office_factor: Floats
    frailty: Floats
    trained_on: Floats

    @property
    def cause_names(self) -> tuple[str, ...]:
        """Names of the causes, in the plan's order."""
        return tuple(f"cause {number + 1}" for number in range(len(self.plan.causes)))

    def histories_by_age(self) -> Histories:
        """Give the returns by age in service, in days: what a power law is fitted to."""
        return Histories.of(
            self.stop - self.in_service,
            self.unit,
            self.day - self.in_service[self.unit],
            start=self.start - self.in_service,
            office=self.office,
        )

    def histories_by_day(self) -> Histories:
        """Give the returns by day of the book."""
        return Histories.of(self.stop, self.unit, self.day, start=self.start, office=self.office)

    def first_lives(self) -> Lives:
        """Give the lives from the first day of service, entered at the age at which each was seen.

        Those that had been repaired before are left out: their first life is over.
        """
        kept = np.flatnonzero(~self.was_repaired)
        first = np.full(self.office.size, -1, dtype=np.intp)
        rows = np.arange(self.unit.size)[::-1]
        first[self.unit[rows]] = rows  # The earliest return is written last.
        row = first[kept]
        failed = row >= 0
        end = np.where(failed, self.day[row], self.stop[kept]) - self.in_service[kept]
        return Lives.observed(
            end,
            failed,
            entry=np.maximum(self.start - self.in_service, 0.0)[kept],
            cause=np.where(failed, self.cause[row], -1),
            cause_names=self.cause_names,
            office=self.office[kept],
            clock=Clock.DAYS,
        )

    def lives_after_repair(self) -> Lives:
        """Give the lives from each hand-back to the next return or the end, entered at age 0."""
        begun = np.flatnonzero(self.from_repair)
        unit = np.concatenate((begun, self.unit))
        day = np.concatenate((self.start[begun], self.day))
        cause = np.concatenate((np.full(begun.size, -1), self.cause))
        order = np.lexsort((day, unit))
        unit, day, cause = unit[order], day[order], cause[order]
        goes_on = np.append(unit[1:] == unit[:-1], False)
        following = np.minimum(np.arange(unit.size) + 1, unit.size - 1)
        end = np.where(goes_on, day[following], self.stop[unit])
        return Lives.observed(
            end - day,
            goes_on,
            cause=np.where(goes_on, cause[following], -1),
            cause_names=self.cause_names,
            office=self.office[unit],
            clock=Clock.DAYS,
        )

    def counts(self, start: float, stop: float, *, cause: int | None = None) -> Counts:
        """Give returns (of one cause) and time at risk of each handpiece between two days."""
        exposure = np.minimum(self.stop, stop) - np.maximum(self.start, start)
        inside = (self.day > start) & (self.day <= stop)
        if cause is not None:
            inside &= self.cause == cause
        count = np.bincount(self.unit[inside], minlength=self.office.size).astype(np.intp)
        return Counts(self.office, count, np.maximum(exposure, 0.0), self.plan.offices)

    def until(self, day: float) -> "Shop":
        """Give the shop as its book stood on a day."""
        stop = np.minimum(self.stop, day)
        seen = (self.day <= day) & (self.start[self.unit] < day)
        return _known_to_the_book(
            replace(
                self,
                stop=stop,
                unit=self.unit[seen],
                day=self.day[seen],
                cause=self.cause[seen],
            )
        )

    def worst_spell(self, day: float, length_days: float) -> int:
        """Give the office that a technician would visit on that day: worst against its expected.

        By (count - expected) over the root of what is expected, over the spell before that day.
        """
        spell = self.counts(day - length_days, day).by_office()
        expected = np.maximum(spell.expected(), 1e-9)
        return int(np.argmax((spell.count - expected) / np.sqrt(expected)))

    def true_rate_a_day(self, day: float) -> Floats:
        """Give the true rate of each office's handpiece of frailty 1; of a power law of shape 1."""
        prevented = self.plan.causes[0] * self.plan.prevented
        after = np.where(self.trained_on < day, 1.0 - prevented, 1.0)
        return self.plan.rate_a_year / DAYS_A_YEAR * self.office_factor * after


@dataclass(frozen=True, slots=True, eq=False)
class _Fleet:
    """The handpieces of a shop before anything happens to them."""

    office: Places
    in_service: Floats
    stop: Floats
    factor: Floats
    trained_on: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Failures:
    """Every failure from the first day of service on, in order of time."""

    unit: Places
    day: Floats


def simulated_shop(plan: Plan, rng: np.random.Generator) -> Shop:
    """Draw a shop; the same plan and generator state give the same shop."""
    office_factor = _gamma_factors(plan.offices, plan.office_spread, rng)
    is_trained = rng.random(plan.offices) < plan.trained
    trained_on = rng.uniform(0.25 * plan.days, 0.75 * plan.days, plan.offices)
    trained_on[~is_trained] = np.inf
    sizes = np.maximum(rng.poisson(plan.handpieces, plan.offices), 1)
    office = np.repeat(np.arange(plan.offices), sizes)
    frailty = _gamma_factors(office.size, plan.handpiece_spread, rng)
    joins = rng.random(office.size) < plan.joining
    since = rng.uniform(0.0, np.where(joins, plan.days, plan.oldest_days))
    in_service = np.where(joins, since, -since)
    lasts = rng.exponential(1.0 / max(plan.retired_a_year, 1e-9), office.size) * DAYS_A_YEAR
    stop = np.minimum(plan.days, np.maximum(in_service, 0.0) + lasts)
    fleet = _Fleet(office, in_service, stop, office_factor[office] * frailty, trained_on[office])
    failures = _failures(plan, fleet, rng)
    by_failure = ~joins & (rng.random(office.size) < plan.known_by_failure)
    start = _first_seen(fleet, failures, by_failure)
    earlier = failures.unit[failures.day <= start[failures.unit]]
    shop = Shop(
        plan=plan,
        office=office,
        in_service=in_service,
        start=start,
        stop=stop,
        was_repaired=np.bincount(earlier, minlength=office.size) > 0,
        from_repair=by_failure,
        unit=failures.unit,
        day=failures.day,
        cause=_causes(plan, failures.day > fleet.trained_on[failures.unit], rng),
        office_factor=office_factor,
        frailty=frailty,
        trained_on=trained_on,
    )
    return _known_to_the_book(shop)


def _gamma_factors(count: int, spread: float, rng: np.random.Generator) -> Floats:
    if spread == 0.0:
        return np.ones(count)
    return rng.gamma(1.0 / spread, spread, count)


def _failures(plan: Plan, fleet: _Fleet, rng: np.random.Generator) -> _Failures:
    """Draw every failure from the first day of service to the end.

    One failure of every handpiece still going is drawn a turn, by a unit exponential and the
    inverse of the cumulative hazard: factor * (u / scale) ** shape, u from the first day (power
    law) or from the last failure (renewal), its growth times what a training leaves after it.
    """
    left = 1.0 - plan.causes[0] * plan.prevented
    going = np.arange(fleet.office.size)
    now, origin = fleet.in_service.copy(), fleet.in_service.copy()
    units, days = [], []
    while going.size:
        scale = plan.scale_days * fleet.factor[going] ** (-1.0 / plan.shape)
        spent = ((now[going] - origin[going]) / scale) ** plan.shape
        change = np.maximum(fleet.trained_on[going], now[going]) - origin[going]
        until_change = (change / scale) ** plan.shape - spent
        drawn = rng.exponential(size=going.size)
        before = np.minimum(drawn, until_change)
        grown = spent + before + (drawn - before) / left
        now[going] = origin[going] + scale * grown ** (1.0 / plan.shape)
        going = going[now[going] < fleet.stop[going]]
        if plan.law is Law.RENEWAL:
            origin[going] = now[going]
        units.append(going)
        days.append(now[going])
    unit, day = np.concatenate(units), np.concatenate(days)
    order = np.argsort(day, kind="stable")
    return _Failures(unit[order], day[order])


def _first_seen(fleet: _Fleet, failures: _Failures, by_failure: NDArray[np.bool_]) -> Floats:
    """Give the day from which each is watched: infinite where it never became known."""
    start = np.maximum(fleet.in_service, 0.0)
    start[by_failure] = np.inf
    counts = by_failure[failures.unit] & (failures.day > 0.0)
    np.minimum.at(start, failures.unit[counts], failures.day[counts])
    return start


def _causes(plan: Plan, is_after: NDArray[np.bool_], rng: np.random.Generator) -> Places:
    """Draw the cause of each failure: the first is rarer after a training."""
    shares = np.array(plan.causes)
    after = shares.copy()
    after[0] *= 1.0 - plan.prevented
    sums = np.where(is_after[:, None], np.cumsum(after) / after.sum(), np.cumsum(shares))
    drawn = rng.random(is_after.size)[:, None] > sums[:, :-1]
    return np.count_nonzero(drawn, axis=1).astype(np.intp)


def _known_to_the_book(shop: Shop) -> Shop:
    """Leave out what the book never sees: unknown handpieces, failures outside the watch."""
    known = shop.start < shop.stop
    place = np.cumsum(known) - 1
    seen = known[shop.unit] & (shop.day > shop.start[shop.unit])
    return replace(
        shop,
        office=shop.office[known],
        in_service=shop.in_service[known],
        start=shop.start[known],
        stop=shop.stop[known],
        was_repaired=shop.was_repaired[known],
        from_repair=shop.from_repair[known],
        unit=place[shop.unit[seen]],
        day=shop.day[seen],
        cause=shop.cause[seen],
        frailty=shop.frailty[known],
    )
