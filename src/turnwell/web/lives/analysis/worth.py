"""What each option of a job's estimate is worth, from how long such repairs have lasted here.

An option is judged by the lives after the same kind of repair on the same class of handpiece. Where
these are too few, by the lives after any repair on that class; where these are too few as well,
nothing is said but how many more jobs it takes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from math import ceil

import numpy as np

from turnwell.catalogue import load
from turnwell.errors import CannotTellError
from turnwell.life import (
    Clock,
    Comparison,
    Estimate,
    Option,
    WeibullGrid,
    Worth,
    compare,
    weibull_grid,
    worth_of,
)
from turnwell.measure import Interval, Reading
from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.models import EstimateOption, Job, OptionKind
from turnwell.web.lives.kept import kept_answer
from turnwell.web.lives.records import ShopLives, ShopRecords
from turnwell.words import Message, Param, text_of

__all__ = ["FEWEST_RETURNS", "JobWorth", "OptionWorth", "Pool", "Priced", "pool_of", "worth_of_job"]

# Fewer returns than this carry no life; our choice, as docs/method-life-decide.md says.
FEWEST_RETURNS = 5
# Of jobs still to come, so many are taken to end in a return where the shop cannot say yet.
USUAL_SHARE = 0.4
# How far ahead uses count, and how long a return is looked at where no warranty is given.
HORIZON_DAYS = 730.5
USUAL_MONTHS = 6
MONTH_DAYS = 365.25 / 12.0


@dataclass(frozen=True, slots=True)
class Priced:
    """An option as it is typed or stands in the estimate.

    Parameters
    ----------
    kind : OptionKind
    total : Decimal
        Price with tax.
    currency : str
    warranty_months : int
    """

    kind: OptionKind
    total: Decimal
    currency: str
    warranty_months: int

    @classmethod
    def of(cls, option: EstimateOption) -> "Priced":
        """Take an option of the estimate."""
        kind = OptionKind(option.kind)
        return cls(kind, option.total, option.currency, option.warranty_months)


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """Lives that an option is judged by.

    Parameters
    ----------
    behind : ShopLives
    kind : OptionKind or None
        Of the repairs; None for any of the class.
    grid : WeibullGrid or None
        None where the lives are too few.
    """

    behind: ShopLives
    kind: OptionKind | None
    grid: WeibullGrid | None

    @property
    def returns(self) -> int:
        """How many of the lives ended in a return."""
        return 0 if self.behind.lives is None else self.behind.lives.failures

    @property
    def jobs_missing(self) -> int:
        """How many more such jobs it takes until something can be told, about."""
        share = self.returns / self.behind.count if self.returns else USUAL_SHARE
        return max(1, ceil((FEWEST_RETURNS - self.returns) / share))


@dataclass(frozen=True, slots=True, eq=False)
class OptionWorth:
    """What an option is worth, or why that cannot be told.

    Parameters
    ----------
    priced : Priced
    name : str
    pool : Pool
    readings : tuple of Reading
        Further uses, cost a use, chance to be back; empty where it cannot be told.
    rests_on : str
        The lives behind it in words; or what is missing.
    worth : Worth or None
    """

    priced: Priced
    name: str
    pool: Pool
    readings: tuple[Reading, ...]
    rests_on: str
    worth: Worth | None


@dataclass(frozen=True, slots=True, eq=False)
class JobWorth:
    """The options of a job side by side.

    Parameters
    ----------
    options : tuple of OptionWorth
    says : str
        Which costs least a use, and how sure that is; what is missing to say so.
    comparison : Comparison or None
        Of the options that could be told, in their order; None below two.
    """

    options: tuple[OptionWorth, ...]
    says: str
    comparison: Comparison | None


def worth_of_job(records: ShopRecords, job: Job, options: Sequence[Priced]) -> JobWorth:
    """Judge some options of a job.

    Parameters
    ----------
    records : ShopRecords
    job : Job
        With its handpiece.
    options : sequence of Priced
        One at least, in one currency.
    """
    pace = _pace(records, job)
    told = tuple(_option_worth(records, job, option, pace) for option in options)
    known = [one.worth for one in told if one.worth is not None]
    comparison = compare(known) if len(known) > 1 else None
    return JobWorth(told, _says(told, comparison), comparison)


def pool_of(records: ShopRecords, class_key: str, kind: OptionKind) -> Pool:
    """Give the lives an option of a kind is judged by on a class of handpiece."""
    for of in (kind, None):
        pool = kept_answer(records, ("pool", class_key, of), partial(_pool, records, class_key, of))
        if pool.grid is not None:
            break
    return pool


def _pool(records: ShopRecords, class_key: str, kind: OptionKind | None) -> Pool:
    if kind is OptionKind.REPLACE:
        behind = records.first_lives(class_key=class_key)
    else:
        behind = records.repair_lives(kind=kind, class_key=class_key)
    grid = None
    if behind.lives is not None and behind.lives.failures >= FEWEST_RETURNS:
        try:
            grid = weibull_grid(behind.lives)
        except CannotTellError:
            # Lives that no law fits carry none: the same as too few.
            grid = None
    return Pool(behind, kind, grid)


def _option_worth(records: ShopRecords, job: Job, priced: Priced, pace: Estimate) -> OptionWorth:
    class_key = job.handpiece.class_key
    pool = pool_of(records, class_key, priced.kind)
    name = str(priced.kind.label)
    if pool.grid is None:
        missing: dict[str, Param] = {
            "jobs": pool.jobs_missing,
            "returns": pool.returns,
            "class": class_name(class_key).lower(),
        }
        key = "one" if pool.jobs_missing == 1 else "more"
        return OptionWorth(
            priced, name, pool, (), text_of(Message(f"lives.thin.{key}", missing)), None
        )
    months = priced.warranty_months or USUAL_MONTHS
    is_cycles = pool.grid.clock is Clock.CYCLES
    clock_a_day = pace.value if is_cycles else 1.0
    worth = worth_of(
        Option(
            name=name,
            price=float(priced.total),
            life=pool.grid,
            return_cost=_return_cost(records, class_key, priced.currency),
            warranty=months * MONTH_DAYS * clock_a_day,
            # A handpiece is sterilized between patients: a care cycle is a use.
            pace=Estimate(1.0, 1.0, 1.0) if is_cycles else pace,
        ),
        horizon=HORIZON_DAYS * clock_a_day,
    )
    readings = _readings(worth, priced, months)
    return OptionWorth(priced, name, pool, readings, _rests_on(pool, class_key), worth)


def _pace(records: ShopRecords, job: Job) -> Estimate:
    """Give the uses a day: of this handpiece, its class here, the class, or the trade's."""
    class_key = job.handpiece.class_key
    asked = (
        {"handpiece": job.handpiece_id},
        {"office": job.office_id, "class_key": class_key},
        {"class_key": class_key},
    )
    for of in asked:
        found = records.pace(**of)
        if found is not None and found.interval is not None and found.interval.low > 0.0:
            return found.interval
    usual = load().paces[class_key]
    a_day = usual.uses_a_day / usual.uses_a_working_day
    return Estimate(usual.uses_a_day, usual.low * a_day, usual.high * a_day)


def _return_cost(records: ShopRecords, class_key: str, currency: str) -> float:
    """Give what a return of this class cost on average; 0 where nobody knows."""
    found = records.returns
    if currency not in records.currencies:
        return 0.0
    mine = found.kind == records.kind_of(class_key)
    mine &= found.currency == records.currencies.index(currency)
    costs = found.cost[mine & np.isfinite(found.cost)]
    return float(costs.mean()) if costs.size else 0.0


def _readings(worth: Worth, priced: Priced, months: int) -> tuple[Reading, ...]:
    credible = Interval.CREDIBLE
    key = "warranty" if priced.warranty_months else "no_warranty"
    return (
        worth.expected_uses.reading(
            "expected_uses",
            "uses",
            interval=credible,
            why=Message("lives.worth.uses", {"years": HORIZON_DAYS / 365.25}),
        ),
        worth.cost_per_use.reading(
            "cost_per_use",
            f"{priced.currency} a use",
            interval=credible,
            why=Message(
                "lives.worth.cost", {"price": f"{priced.total:,}", "unit": priced.currency}
            ),
        ),
        worth.back_within_warranty.times(100.0).reading(
            "back_within_warranty",
            "%",
            interval=credible,
            why=Message(f"lives.worth.{key}", {"months": months}),
        ),
    )


def _rests_on(pool: Pool, class_key: str) -> str:
    said: dict[str, Param] = {
        "lives": pool.behind.count,
        "returns": pool.returns,
        "class": class_name(class_key).lower(),
        "clock": pool.behind.clock.value,
        "kind": pool.kind.label.lower() if pool.kind else "",
    }
    if pool.kind is OptionKind.REPLACE:
        return text_of(Message("lives.pool.new", said))
    return text_of(Message("lives.pool.kind" if pool.kind else "lives.pool.class", said))


def _says(told: Sequence[OptionWorth], comparison: Comparison | None) -> str:
    if comparison is not None:
        return text_of(comparison.message)
    known = [one for one in told if one.worth is not None]
    return text_of("lives.one_told" if known else "lives.none_told")
