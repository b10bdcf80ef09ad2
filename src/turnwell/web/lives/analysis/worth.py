"""What each option of a job's estimate is worth, from how long such repairs have lasted here."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from turnwell.catalogue import load
from turnwell.life import (
    Clock,
    Estimate,
    Option,
    WeibullGrid,
    Worth,
    compare,
    worth_of,
)
from turnwell.measure import Interval, Reading
from turnwell.pictures import Figures, figures_of
from turnwell.web.handpieces.names import class_name
from turnwell.web.jobs.models import EstimateOption, Job, OptionKind
from turnwell.web.lives.analysis.pools import Pool, pool_of
from turnwell.web.lives.chances import in_percent
from turnwell.web.lives.records import YEAR_DAYS, ShopRecords
from turnwell.words import Message, Param, text_of

__all__ = [
    "JobWorth",
    "OptionWorth",
    "Priced",
    "worth_lines",
    "worth_of_job",
]

# How far ahead uses count, and how long a return is looked at where no warranty is given.
HORIZON_DAYS = 730.5
USUAL_MONTHS = 6
MONTH_DAYS = YEAR_DAYS / 12.0


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

    @property
    def figures(self) -> tuple[Figures, ...]:
        """The readings as they are shown."""
        return tuple(figures_of(reading) for reading in self.readings)

    @property
    def whys(self) -> tuple[str, ...]:
        """What each reading counts."""
        return tuple(f"{text_of(one.name)}: {text_of(one.why)}" for one in self.readings)


@dataclass(frozen=True, slots=True, eq=False)
class JobWorth:
    """The options of a job side by side.

    Parameters
    ----------
    options : tuple of OptionWorth
    says : str
        Which costs least a use, and how sure that is; what is missing to say so.
    """

    options: tuple[OptionWorth, ...]
    says: str


def worth_of_job(records: ShopRecords, job: Job, options: Sequence[Priced]) -> JobWorth:
    """Judge some options of a job.

    Parameters
    ----------
    records : ShopRecords
    job : Job
        With its handpiece.
    options : sequence of Priced
        One at least; those in different currencies are not compared.
    """
    pace = _pace(records, job)
    told = tuple(_option_worth(records, job, option, pace) for option in options)
    return JobWorth(told, _says(told))


def worth_lines(one: OptionWorth) -> tuple[str, ...]:
    """Give what an option is worth in lines for its paper; what is missing where none is told."""
    return tuple(
        text_of(
            Message(
                f"lives.worth_line.{reading.key}",
                {"value": shown.value or "", "low": shown.low or "", "high": shown.high or ""}
                | {"unit": shown.unit},
            )
        )
        for reading in one.readings
        if (shown := figures_of(reading)).value is not None
    ) or (one.rests_on,)


@dataclass(frozen=True, slots=True)
class _Pace:
    """Uses a day, and whose: handpiece, office, class or trade."""

    a_day: Estimate
    whose: str


def _option_worth(records: ShopRecords, job: Job, priced: Priced, pace: _Pace) -> OptionWorth:
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
        if priced.kind is OptionKind.REPLACE:
            key = "new"
        return OptionWorth(
            priced, name, pool, (), text_of(Message(f"lives.thin.{key}", missing)), None
        )
    is_cycles = pool.grid.clock is Clock.CYCLES
    clock_a_day = pace.a_day.value if is_cycles else 1.0
    worth = worth_of(
        Option(
            name=name,
            price=float(priced.total),
            life=pool.grid,
            return_cost=_return_cost(records, class_key, priced.currency),
            warranty=priced.warranty_months * MONTH_DAYS * clock_a_day,
            # A handpiece is sterilized between patients: a care cycle is a use.
            pace=Estimate(1.0, 1.0, 1.0) if is_cycles else pace.a_day,
        ),
        horizon=HORIZON_DAYS * clock_a_day,
    )
    back = worth.back_within_warranty
    if not priced.warranty_months:
        back = _back(pool.grid, USUAL_MONTHS * MONTH_DAYS * clock_a_day)
    readings = _readings(worth, back, priced, pace)
    return OptionWorth(priced, name, pool, readings, _rests_on(pool, class_key), worth)


def _back(grid: WeibullGrid, age: float) -> Estimate:
    """Give the share that is back by an age after the repair."""
    return grid.estimate(lambda shape, scale: -np.expm1(-((age / scale) ** shape)))


def _pace(records: ShopRecords, job: Job) -> _Pace:
    """Give the pace of this handpiece, of its class here, of the class; else the trade's."""
    class_key = job.handpiece.class_key
    asked = {
        "handpiece": records.pace(handpiece=job.handpiece_id),
        "office": records.pace(office=job.office_id, class_key=class_key),
        "class": records.pace(class_key=class_key),
    }
    for whose, found in asked.items():
        if found is not None and found.interval is not None and found.interval.low > 0.0:
            return _Pace(found.interval, whose)
    usual = load().paces[class_key]
    share = usual.uses_a_day / usual.uses_a_working_day
    return _Pace(Estimate(usual.uses_a_day, usual.low * share, usual.high * share), "trade")


def _return_cost(records: ShopRecords, class_key: str, currency: str) -> float:
    """Give what a return of this class cost on average; 0 where nobody knows."""
    found = records.returns
    if currency not in records.currencies:
        return 0.0
    mine = found.kind == records.kind_of(class_key)
    mine &= found.currency == records.currencies.index(currency)
    costs = found.cost[mine & np.isfinite(found.cost)]
    return float(costs.mean()) if costs.size else 0.0


def _readings(worth: Worth, back: Estimate, priced: Priced, pace: _Pace) -> tuple[Reading, ...]:
    credible = Interval.CREDIBLE
    uses: dict[str, Param] = {
        "years": HORIZON_DAYS / YEAR_DAYS,
        "pace": pace.a_day.value,
        "whose": Message(f"lives.pace.{pace.whose}"),
    }
    price: dict[str, Param] = {"price": f"{priced.total:,}", "unit": priced.currency}
    key = "back_within_warranty" if priced.warranty_months else "back_in_half_a_year"
    return (
        worth.expected_uses.reading(
            "expected_uses", "uses", interval=credible, why=Message("lives.worth.uses", uses)
        ),
        worth.cost_per_use.reading(
            "cost_per_use",
            f"{priced.currency} a use",
            interval=credible,
            why=Message("lives.worth.cost", price),
        ),
        back.times(100.0).reading(
            key,
            "%",
            interval=credible,
            why=Message(f"lives.worth.{key}", {"months": priced.warranty_months}),
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


def _says(told: Sequence[OptionWorth]) -> str:
    """Say which option costs least a use, where each is judged by lives of its own."""
    known = [one for one in told if one.worth is not None]
    if len({one.priced.currency for one in known}) > 1:
        return text_of("lives.compare.currencies")
    if len(known) < 2:
        return text_of("lives.compare.one_told" if known else "lives.compare.none_told")
    # Lives of one kind are among those of the class: the two cannot be held against each other.
    if any(one.pool.kind is None for one in known):
        return text_of("lives.compare.not_apart")
    found = compare([one.worth for one in known if one.worth is not None])
    best = known[found.best]
    cost = figures_of(best.readings[1])
    params: dict[str, Param] = {
        "name": best.name,
        "cost": cost.value or "",
        "low": cost.low or "",
        "high": cost.high or "",
        "unit": cost.unit,
        "chance": in_percent(found.probability[found.best]),
    }
    return text_of(Message(f"lives.compare.{'least' if found.is_settled else 'open'}", params))
