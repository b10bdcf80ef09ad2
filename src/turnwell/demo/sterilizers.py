"""The sterilizers of three invented offices and a year of their records, by the real actions.

One office cuts drying short on Friday afternoons until it is taught; the pump of another gives way;
the third has a simple sterilizer without a pump, and nothing is wrong with it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from io import BytesIO
from zoneinfo import ZoneInfo

import numpy as np

from turnwell.demo.cycles import Run, record_bytes
from turnwell.demo.offices import story_of
from turnwell.demo.shop import DemoShop, trained_days_ago
from turnwell.steam.water import atmosphere_kpa
from turnwell.web.offices.models import Office
from turnwell.web.sterilizers import actions
from turnwell.web.sterilizers.actions.intake import Arrived
from turnwell.web.sterilizers.actions.loads import LoadDetails
from turnwell.web.sterilizers.models import CycleRecord, Sterilizer

__all__ = ["furnish_sterilizers"]

DAYS = 350
FRIDAY = 4
CUT_ON_FRIDAYS, CUT_OTHERWISE, CUT_ONCE_TAUGHT = 0.85, 0.06, 0.05
HOURS = (9, 11, 13, 15, 17)
PUMP = actions.SterilizerDetails(
    "1",
    model_typed="Steamer D",
    capacity_l=18.0,
    air_removal=Sterilizer.AirRemoval.DYNAMIC,
)
NO_PUMP = actions.SterilizerDetails(
    "1",
    model_typed="Steamer G",
    capacity_l=12.0,
    air_removal=Sterilizer.AirRemoval.GRAVITY,
)
WRAPPED = actions.PlanDetails(
    "Wrapped 134",
    set_c=134.0,
    band_k=4.0,
    hold_s=210.0,
    dry_s=1200.0,
    drying_pressure_kpa=10.0,
    pulses=3,
    is_usual=True,
)
SLOW = actions.PlanDetails(
    "Wrapped 121", set_c=121.0, band_k=4.0, hold_s=1200.0, dry_s=1800.0, is_usual=True
)


@dataclass(frozen=True, slots=True)
class Told:
    """One sterilizer of the story.

    Parameters
    ----------
    details, plan
        What it is and is set to.
    days_between : float
        Days between its records; a sterilizer runs more, the demo shows some of it.
    cuts_fridays : bool
        True where drying is cut short on Friday afternoons until the office is taught.
    vacuum_kpa, worn_vacuum_kpa : float
        Lowest pressure of the drying, and once the pump was worn.
    worn_days_ago : int
        Since when it is; 0 where it is not.
    """

    details: actions.SterilizerDetails
    plan: actions.PlanDetails
    days_between: float
    cuts_fridays: bool = False
    vacuum_kpa: float = 6.0
    worn_vacuum_kpa: float = 6.0
    worn_days_ago: int = 0


STORY = (
    Told(PUMP, WRAPPED, 4.0, cuts_fridays=True),
    Told(PUMP, WRAPPED, 7.0, worn_vacuum_kpa=11.0, worn_days_ago=140),
    Told(NO_PUMP, SLOW, 25.0),
)


def furnish_sterilizers(shop: DemoShop, rng: np.random.Generator, now: datetime) -> None:
    """Put a sterilizer into each office told in full, with a year of records dropped today.

    Parameters
    ----------
    shop : DemoShop
    rng : numpy.random.Generator
        Source of all chance.
    now : datetime
        The demo's present; no run began after it.
    """
    by = shop.technician
    in_full = [office for office in shop.offices if story_of(office.name).is_told_in_full]
    for office, told in zip(in_full, STORY, strict=True):
        sterilizer = actions.add_sterilizer(by=by, office=office, details=told.details)
        actions.add_plan(by=by, sterilizer=sterilizer, details=told.plan)
        intake = actions.begin_intake(by=by, sterilizer=sterilizer, at=now)
        files = (
            Arrived(f"{run.began:%Y%m%d-%H%M}.csv", BytesIO(record_bytes(run, rng)))
            for run in _runs(office, told, rng, now)
        )
        actions.add_files(by=by, intake=intake, files=files, at=now)
    while actions.work_off() is not None:
        pass
    _write_loads(shop)


def _runs(office: Office, told: Told, rng: np.random.Generator, now: datetime) -> Iterator[Run]:
    """Give the runs of a year in order, Friday afternoons more often than others."""
    zone = ZoneInfo(office.time_zone)
    today = now.astimezone(zone).date()
    air_kpa = atmosphere_kpa(office.altitude_m or 0.0)
    days_ago = float(DAYS)
    while days_ago > 1.0:
        day = today - timedelta(days=round(days_ago))
        if told.cuts_fridays and rng.random() < 0.4:
            day += timedelta(days=FRIDAY - day.weekday())
        hour = 17 if day.weekday() == FRIDAY and told.cuts_fridays else int(rng.choice(HOURS))
        # Offices are shut at the end of the week, and nothing began after now.
        if day.weekday() <= FRIDAY and day < today:
            began = datetime.combine(day, time(hour, int(rng.integers(60))))
            gone = (today - day).days
            chance = _chance_of_a_cut(office, began, gone) if told.cuts_fridays else 0.0
            is_worn = gone < told.worn_days_ago
            vacuum_kpa = told.worn_vacuum_kpa if is_worn else told.vacuum_kpa
            run = _run(told, began, air_kpa, is_cut=rng.random() < chance, rng=rng)
            yield replace(run, vacuum_kpa=vacuum_kpa + float(rng.normal(0.0, 0.3)))
        days_ago -= float(rng.uniform(0.5, 1.5)) * told.days_between


def _run(
    told: Told,
    began: datetime,
    air_kpa: float,
    *,
    is_cut: bool,
    rng: np.random.Generator,
) -> Run:
    """Give one run as the sterilizer is set to it, or cut short."""
    plan = told.plan
    # Sterilizers dry a little longer than they are set to.
    dry_s = (plan.dry_s or 0.0) + 20.0
    return Run(
        began,
        air_kpa,
        set_c=plan.set_c or 134.0,
        hold_s=(plan.hold_s or 210.0) + 30.0,
        dry_s=dry_s * float(rng.uniform(0.3, 0.7)) if is_cut else dry_s,
        pulses=plan.pulses or 0,
    )


def _chance_of_a_cut(office: Office, began: datetime, days_ago: int) -> float:
    """Give the chance that somebody opens the door before the drying is over."""
    trained = trained_days_ago(office)
    if trained is not None and days_ago < trained:
        return CUT_ONCE_TAUGHT
    is_late_friday = began.weekday() == FRIDAY and began.hour >= 15
    return CUT_ON_FRIDAYS if is_late_friday else CUT_OTHERWISE


def _write_loads(shop: DemoShop) -> None:
    """Write down what the newest load of each sterilizer was."""
    load = LoadDetails(
        counts={"air_turbine_4_hole": 4, "contra_angle_reducing": 2},
        pouches=6,
        trays=1,
        water_before_g=1.5,
    )
    for sterilizer in Sterilizer.objects.filter(office__in=shop.offices):
        records = CycleRecord.objects.filter(sterilizer=sterilizer).standing()
        newest = records.order_by("-started_at").first()
        if newest is not None:
            actions.write_load(by=shop.technician, record=newest, details=load)
