"""Reads a cycle record: calls the rooms in order and gathers what they found."""

from dataclasses import dataclass

import numpy as np

from turnwell.errors import CannotTellError
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.fault import Fault, FaultKey, Question
from turnwell.steam.faults import faults_of, questions_of
from turnwell.steam.load.balance import Reached, WaterBalance, no_balance, water_balance
from turnwell.steam.load.items import Load
from turnwell.steam.quality import saturation_difference_k
from turnwell.steam.readings import LethalityScale, readings_of
from turnwell.steam.record import Record
from turnwell.steam.review import Review
from turnwell.steam.stage import Course, StageKind
from turnwell.steam.stages import course_of
from turnwell.words import Message, Param

__all__ = ["analyse"]

# The drying stands near its lowest pressure up to this many times of it, and no deeper is asked for
# than what a gauge can tell from nothing.
NEAR_LOWEST = 2.0
# This part of the rows may be strays.
FEW = 0.005
CUT_SHORT = frozenset({FaultKey.DRYING_ABORTED, FaultKey.DRYING_SHORTENED})
# A chamber at rest stands within this of the atmosphere that the place's height gives, whatever the
# weather and the gauge; both ends are alike within less, over so long.
WEATHER_KPA, ALIKE_KPA, REST_S = 6.0, 2.0, 10.0
LEAST_KPA = 5.0


def analyse(
    record: Record,
    cycle: Cycle | None = None,
    *,
    sensors: Sensors | None = None,
    load: Load | None = None,
    other: LethalityScale | None = None,
) -> Review:
    """Say what a record shows of its run.

    Parameters
    ----------
    record : Record
        Of one run.
    cycle : Cycle or None
        What the sterilizer was set to; what it leaves out is not judged.
    sensors : Sensors or None
        Within what the sterilizer's own sensors are true; the defaults when None.
    load : Load or None
        What was in it; without it the water "cannot be told".
    other : LethalityScale or None
        Another reference temperature and z for a lethality beside F0.

    Returns
    -------
    Review
        It never releases a load.

    Raises
    ------
    CannotTellError
        If the record holds more than one run, or its pressure falls below nothing: the height of
        the place or the zero of the gauge is wrong, and with it every pressure.

    Examples
    --------
    >>> minutes = np.arange(0.0, 21.0)
    >>> hot = (minutes >= 5.0) & (minutes <= 15.0)
    >>> record = Record(
    ...     time_s=60.0 * minutes,
    ...     temperature_c=np.where(hot, 121.1, 80.0),
    ...     pressure_kpa=np.where(hot, 205.7, 101.3),
    ... )
    >>> analyse(record, Cycle(set_c=121.0)).reading("f0_min").value > 10.0
    True
    """
    cycle = cycle or Cycle()
    sensors = sensors or Sensors()
    _refuse_below_nothing(record, sensors)
    course = course_of(record, cycle)
    faults = faults_of(record, cycle, course, sensors)
    water = _water(record, course, sensors, load, missed_s=_missed_s(cycle, course, faults))
    return Review(
        record=record,
        cycle=cycle,
        course=course,
        readings=(
            *readings_of(record, cycle, course, sensors, other=other),
            water.condensate,
            water.left,
        ),
        faults=faults,
        questions=_questions(record, course, faults, load),
        saturation_difference_k=saturation_difference_k(record, course),
        water=None if load is None else water,
    )


def _refuse_below_nothing(record: Record, sensors: Sensors) -> None:
    """Refuse an absolute pressure that cannot be, by more than sensor and weather explain."""
    there = record.pressure_kpa[np.isfinite(record.pressure_kpa)]
    if there.size and (lowest := float(np.quantile(there, FEW))) < -sensors.pressure_kpa:
        raise CannotTellError(
            f"the pressure falls to {lowest:.1f} kPa absolute, which cannot be, with air of"
            f" {record.atmosphere_kpa:.1f} kPa at the place; check its height, and whether the"
            " pressure is absolute or gauge"
        )


def _questions(
    record: Record, course: Course, faults: tuple[Fault, ...], load: Load | None
) -> tuple[Question, ...]:
    """Give what to ask: first what contradicts the record, never what was said already."""
    asked = list(questions_of(faults, course))
    if load is not None and load.water_before_g is not None:
        asked = [question for question in asked if question.key != "wet_at_start"]
    seen_kpa = _rest_kpa(record)
    if seen_kpa is not None and abs(seen_kpa - record.atmosphere_kpa) > WEATHER_KPA:
        params: dict[str, Param] = {"seen": seen_kpa, "given": record.atmosphere_kpa}
        asked.insert(0, Question("place", Message("steam_fault.ask.place", params)))
    return tuple(asked)


def _rest_kpa(record: Record) -> float | None:
    """Give the pressure at which the chamber rests at both ends alike; None where it does not."""
    first = record.pressure_kpa[record.time_s <= record.time_s[0] + REST_S]
    last = record.pressure_kpa[record.time_s >= record.time_s[-1] - REST_S]
    if not np.any(np.isfinite(first)) or not np.any(np.isfinite(last)):
        return None
    ends = float(np.nanmedian(first)), float(np.nanmedian(last))
    return sum(ends) / 2.0 if abs(ends[0] - ends[1]) <= ALIKE_KPA else None


def _missed_s(cycle: Cycle, course: Course, faults: tuple[Fault, ...]) -> float | None:
    """Give what a drying that was broken off or cut short lacked of its plan; None for others."""
    drying = course.stage(StageKind.DRYING)
    if cycle.dry_s is None or drying is None or CUT_SHORT.isdisjoint(one.key for one in faults):
        return None
    return cycle.dry_s - drying.duration_s if drying.duration_s < cycle.dry_s else None


def _water(
    record: Record,
    course: Course,
    sensors: Sensors,
    load: Load | None,
    *,
    missed_s: float | None,
) -> WaterBalance:
    """Balance the water of a load, as far as it and the run are known."""
    if load is None:
        return no_balance(Message("steam_water.no_load"))
    plateau = course.stage(StageKind.PLATEAU)
    if plateau is None:
        return no_balance(Message("steam_water.no_plateau"))
    held = (record.time_s >= plateau.start_s) & (record.time_s <= plateau.stop_s)
    depth = _depth(record, course)
    return water_balance(
        load,
        Reached(
            steam_c=float(np.nanmedian(record.temperature_c[held])),
            drying_kpa=None if depth is None else depth.lowest_kpa,
            drying_s=None if depth is None else depth.duration_s,
            pressure_bound_kpa=sensors.pressure_kpa,
            missed_s=missed_s,
        ),
    )


@dataclass(frozen=True, slots=True)
class _Depth:
    """How deep the drying came, and for how long it stood near there."""

    lowest_kpa: float
    duration_s: float


def _depth(record: Record, course: Course) -> _Depth | None:
    """Give the depth of the drying; None where there was none or its pressure was not logged."""
    drying = course.stage(StageKind.DRYING)
    if drying is None:
        return None
    dried = (record.time_s >= drying.start_s) & (record.time_s <= drying.stop_s)
    pressure = record.pressure_kpa[dried]
    if not np.any(np.isfinite(pressure)):
        return None
    lowest = float(np.nanmin(pressure))
    near = np.nan_to_num(pressure, nan=np.inf) <= NEAR_LOWEST * max(lowest, LEAST_KPA)
    steps = np.diff(record.time_s[dried], append=drying.stop_s)
    return _Depth(lowest, float(np.sum(steps[near])))
