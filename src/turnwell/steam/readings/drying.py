"""The drying: how long, how deep, how long at depth, how fast it got there. Never: dry."""

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Limit, Reading, cannot_tell, reading
from turnwell.steam.crossing import fall_s, time_below_s
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.quality import rows_of, smooth
from turnwell.steam.readings.holding import SAMPLING_SHARE
from turnwell.steam.record import Record
from turnwell.steam.stage import VACUUM_KPA, Course, Ending, Stage, StageKind
from turnwell.steam.tolerance import half_width
from turnwell.units import s_to_min
from turnwell.words import Message, Param

__all__ = ["drying_readings", "least_drying_s", "pull_down_s"]

Array = NDArray[np.float64]
# Half of a step on either side of a fine record, a whole one of a coarse one and half beside it.
FINE_S, COARSE_SHARE = 5.0, 1.5
PULL_DOWN_FROM_KPA, PULL_DOWN_TO_KPA = 80.0, 20.0
DEPTHS_KPA = (20.0, 10.0)
# A sterilizer counts from its valve or pump; a record shows the first fall of the pressure, later
# still in the thin air of a high place. A drying that ran its planned time must not fail by what is
# between: this part of it, and so long or so many rows, whichever is more. Own choice, by invented
# runs from 0 to 2,000 m.
UNSEEN_SHARE, UNSEEN_S, UNSEEN_ROWS = 0.04, 15.0, 2.0


def drying_readings(
    record: Record, cycle: Cycle, course: Course, sensors: Sensors
) -> tuple[Reading, ...]:
    """Give the drying's time, lowest pressure, time below 20 and 10 kPa and pull-down."""
    stage = course.stage(StageKind.DRYING)
    return (
        _time(record, cycle, course, stage),
        _lowest(record, cycle, stage, sensors),
        *(_below(record, stage, sensors, depth) for depth in DEPTHS_KPA),
        _pull_down(record, stage, sensors),
    )


def _time(record: Record, cycle: Cycle, course: Course, stage: Stage | None) -> Reading:
    """End of the exhaust to the start of the final air inlet, admissions included."""
    key, unit, limit = "drying_time_s", "s", None
    if cycle.dry_s is not None:
        least_s = least_drying_s(cycle.dry_s, record.interval_s)
        less_s = cycle.dry_s - least_s
        source = f"{s_to_min(cycle.dry_s):g} min, less {less_s:.0f} s that its start is not seen by"
        limit = Limit(low=least_s, high=None, source=f"{source}; {cycle.source}", basis=cycle.basis)
    if stage is None:
        return cannot_tell(key, unit, _no_drying(course), limit=limit)
    value = stage.duration_s
    # A fall between two rows far apart is bent: where it begins is known to a row, not to half.
    rows = SAMPLING_SHARE if record.interval_s <= FINE_S else COARSE_SHARE
    edge_s = rows * record.interval_s
    params: dict[str, Param] = {
        "admissions": len(course.admissions),
        "ending": Message(f"steam.ending.{course.ending.name.lower()}"),
    }
    why = Message("steam.drying_ended" if limit else "steam.no_planned_drying", params)
    low, high = max(0.0, value - edge_s), value + edge_s
    # At the pressure of the air a chamber that dries and one that merely stands look alike.
    stood = None
    if limit is not None and not _is_vacuum(record, stage) and high >= (limit.low or 0.0):
        stood = Message("steam.dried_or_stood")
    return reading(key, value, low, high, unit, limit=limit, why=why, unproven=stood)


def _is_vacuum(record: Record, stage: Stage) -> bool:
    """Whether a vacuum was drawn in the drying."""
    pressure = _pressure(record, stage)
    return pressure is not None and float(np.nanmin(pressure)) < record.atmosphere_kpa - VACUUM_KPA


def least_drying_s(planned_s: float, interval_s: float) -> float:
    """Give how long a drying must be seen to have run its planned time.

    >>> least_drying_s(720.0, 1.0)
    676.2
    """
    edge_s = max(UNSEEN_S, UNSEEN_ROWS * interval_s)
    return max(0.0, planned_s - UNSEEN_SHARE * planned_s - edge_s)


def _no_drying(course: Course) -> Message:
    if course.ending is Ending.POWER_CUT:
        return Message("steam.ended_before_drying")
    if course.pulses:
        return Message("steam.no_vacuum_after")
    return Message("steam.no_drying_stage")


def _lowest(record: Record, cycle: Cycle, stage: Stage | None, sensors: Sensors) -> Reading:
    key, unit, limit = "drying_lowest_pressure_kpa", "kPa", cycle.drying_pressure
    pressure = _pressure(record, stage)
    if pressure is None:
        return cannot_tell(key, unit, _silent(record), limit=limit)
    value, half = float(np.nanmin(pressure)), half_width(sensors.pressure_kpa)
    why = None if limit else Message("steam.no_planned_drying_pressure")
    # A gauge may read a little under nothing.
    low = min(value, max(0.0, value - half))
    return reading(key, value, low, value + half, unit, limit=limit, why=why)


def _below(record: Record, stage: Stage | None, sensors: Sensors, depth_kpa: float) -> Reading:
    key, unit = f"drying_below_{depth_kpa:.0f}_s", "s"
    pressure = _pressure(record, stage)
    if stage is None or pressure is None:
        return cannot_tell(key, unit, _silent(record))
    rows = rows_of(record, stage.start_s, stage.stop_s)
    times, gaps = record.time_s[rows], record.is_gap[rows.start : rows.stop - 1]
    half = half_width(sensors.pressure_kpa)
    low, value, high = (
        time_below_s(times, pressure, level, is_gap=gaps)
        for level in (depth_kpa - half, depth_kpa, depth_kpa + half)
    )
    why = Message("steam.below_depth", {"depth_kpa": depth_kpa, "bound_kpa": sensors.pressure_kpa})
    return reading(key, value, low, high, unit, why=why)


def _pull_down(record: Record, stage: Stage | None, sensors: Sensors) -> Reading:
    """Time from 80 to 20 kPa; 20 kPa may lie under the floor once the gauge's error is counted."""
    key, unit = "drying_pull_down_s", "s"
    if stage is None or not record.has_pressure:
        return cannot_tell(key, unit, _silent(record))
    half = half_width(sensors.pressure_kpa)
    value = pull_down_s(record, stage, 0.0)
    if value is None:
        return cannot_tell(key, unit, Message("steam.never_at_20_kpa"))
    edge_s = SAMPLING_SHARE * record.interval_s
    moved = [pull_down_s(record, stage, shift) for shift in (-half, half)]
    known = [value, *(found for found in moved if found is not None)]
    low, high = max(0.0, min(known) - edge_s), max(known) + edge_s
    if None in moved:
        high = max(high, stage.duration_s)
    return reading(key, value, low, high, unit, why=Message("steam.pull_down"))


def pull_down_s(record: Record, stage: Stage, shift_kpa: float) -> float | None:
    """Time of the first fall from 80 to 20 kPa of a stage; None where 20 kPa is not reached.

    High above the sea it starts 5 kPa under the atmosphere instead.
    """
    # The fall may begin in the last rows of the exhaust.
    rows = rows_of(record, stage.start_s - 60.0, stage.stop_s)
    pressure = smooth(record, record.pressure_kpa)[rows] + shift_kpa
    high_kpa = min(PULL_DOWN_FROM_KPA, record.atmosphere_kpa - 5.0)
    return fall_s(record.time_s[rows], pressure, high_kpa, PULL_DOWN_TO_KPA)


def _pressure(record: Record, stage: Stage | None) -> Array | None:
    """Give the pressures of the drying, None where there are none."""
    if stage is None:
        return None
    pressure = smooth(record, record.pressure_kpa)[rows_of(record, stage.start_s, stage.stop_s)]
    return pressure if np.any(np.isfinite(pressure)) else None


def _silent(record: Record) -> Message:
    return Message("steam.no_drying_stage" if record.has_pressure else "steam.no_pressure")
