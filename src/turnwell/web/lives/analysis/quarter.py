"""What the next quarter asks of the shop: other jobs, parts to hold, money for warranties."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from django.db.models import Sum

from turnwell.life import (
    Clock,
    Demand,
    Predictive,
    ReturnCost,
    StockLevel,
    UnderWarranty,
    WarrantyForecast,
    stock_level,
    warranty_forecast,
)
from turnwell.measure import Interval, Reading
from turnwell.web.jobs.models import OptionKind, PartUsed
from turnwell.web.lives.analysis.pools import pool_of
from turnwell.web.lives.analysis.round import QUARTER_DAYS
from turnwell.web.lives.records import KINDS, ShopRecords, Warranties
from turnwell.words import Message, Param

__all__ = ["PartToHold", "Reserve", "other_jobs", "parts_to_hold", "reserve_of"]

LOOKED_BACK = timedelta(days=365)
MONTHS_BACK, MONTHS_AHEAD = 12.0, 3.0
SERVICE_LEVEL = 0.95
PARTS_SHOWN = 12
# Cover is cut to the quarter beforehand, in each life's own clock; then all of it counts.
ALL_OF_IT = 1e9


@dataclass(frozen=True, slots=True)
class PartToHold:
    """A part, what was used of it in twelve months, and how many meet the next three."""

    name: str
    used: float
    stock: StockLevel


@dataclass(frozen=True, slots=True, eq=False)
class Reserve:
    """Money for returns under warranty in the next quarter.

    Parameters
    ----------
    readings : tuple of Reading
        Returns under warranty, their cost; empty where it cannot be told.
    suffices : float or None
        What suffices with a chance of 95 %.
    currency : str
    handpieces, left_out : int
        Under warranty, and those of them whose repairs are too few to tell a life by.
    """

    readings: tuple[Reading, ...]
    suffices: float | None
    currency: str
    handpieces: int
    left_out: int


def other_jobs(records: ShopRecords) -> Reading:
    """Forecast the stays that are no return, from those of the last twelve months."""
    since = records.now_s - int(LOOKED_BACK.total_seconds())
    taken = records.stays.taken_in_s
    stays = int(np.count_nonzero((taken > since) & (taken <= records.now_s)))
    returns = int(np.count_nonzero(records.returns.moment_s > since))
    demand = Demand.from_use(max(stays - returns, 0), MONTHS_BACK, MONTHS_AHEAD)
    params: dict[str, Param] = {"count": max(stays - returns, 0)}
    ahead = Predictive(np.array([demand.mean]), np.array([demand.shape]), np.ones(1))
    return ahead.interval().reading(
        "coming_others",
        "jobs",
        interval=Interval.PREDICTIVE,
        why=Message("lives.round.others", params),
    )


def parts_to_hold(now: datetime) -> tuple[PartToHold, ...]:
    """Give the parts used most in twelve months, with the stock that meets the next three."""
    rows = (
        PartUsed.objects.standing()
        .filter(entered_at__gt=now - LOOKED_BACK)
        .order_by()
        .values("name")
        .annotate(used=Sum("quantity"))
        .order_by("-used", "name")
    )
    return tuple(
        PartToHold(row["name"], float(row["used"]), _stock(float(row["used"])))
        for row in rows[:PARTS_SHOWN]
    )


def _stock(used: float) -> StockLevel:
    return stock_level(
        Demand.from_use(round(used), MONTHS_BACK, MONTHS_AHEAD), target=SERVICE_LEVEL
    )


def reserve_of(records: ShopRecords) -> Reserve:
    """Forecast what returns under warranty will cost in the next quarter."""
    covered = records.under_warranty()
    known = covered.currency[covered.currency >= 0]
    if not known.size:
        return Reserve((), None, "", covered.count, covered.count)
    usual = int(np.bincount(known).argmax())
    groups, counted = _groups(records, covered, usual)
    currency = records.currencies[usual]
    if not groups:
        return Reserve((), None, currency, covered.count, covered.count)
    found = warranty_forecast(groups, horizon=ALL_OF_IT)
    return Reserve(
        readings=_readings(found, currency),
        suffices=found.reserve(SERVICE_LEVEL),
        currency=currency,
        handpieces=covered.count,
        left_out=covered.count - counted,
    )


def _groups(
    records: ShopRecords, covered: Warranties, currency: int
) -> tuple[list[UnderWarranty], int]:
    """Group the handpieces by class and repair; gives how many are in a group beside them."""
    rows_of: dict[tuple[int, int], list[int]] = defaultdict(list)
    for row, pair in enumerate(zip(covered.kind.tolist(), covered.option.tolist(), strict=True)):
        rows_of[pair].append(row)
    groups, counted = [], 0
    for (kind, option), listed in rows_of.items():
        class_key = records.class_keys[kind]
        # Where the last repair was not agreed to, its kind is not known.
        agreed = OptionKind(KINDS[option]) if option >= 0 else None
        grid = pool_of(records, class_key, agreed).grid
        rows = np.array(listed)
        prices = covered.price[rows][covered.currency[rows] == currency]
        pace = _clock_a_day(records, class_key, grid.clock) if grid is not None else None
        if grid is None or pace is None or not prices.size:
            continue
        spread = float(prices.std(ddof=1)) if prices.size > 1 else 0.0
        groups.append(
            UnderWarranty.of(
                covered.age_days[rows] * pace,
                np.minimum(covered.left_days[rows], QUARTER_DAYS) * pace,
                grid,
                cost=ReturnCost(float(prices.mean()), spread, spread / float(prices.size) ** 0.5),
            )
        )
        counted += rows.size
    return groups, counted


def _clock_a_day(records: ShopRecords, class_key: str, clock: Clock) -> float | None:
    """Give how far a clock runs in a day; None where nobody counted."""
    if clock is Clock.DAYS:
        return 1.0
    pace = records.pace(class_key=class_key)
    return None if pace is None else pace.cycles_per_day


def _readings(found: WarrantyForecast, currency: str) -> tuple[Reading, ...]:
    predictive = Interval.PREDICTIVE
    return (
        found.returns.reading(
            "coming_under_warranty",
            "returns",
            interval=predictive,
            why=Message("lives.round.under_warranty"),
        ),
        found.cost.reading(
            "warranty_cost", currency, interval=predictive, why=Message("lives.round.warranty_cost")
        ),
    )
