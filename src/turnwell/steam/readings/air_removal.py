"""How the air was taken out: pulses and their depth, or the minutes of venting."""

import numpy as np

from turnwell.measure import Limit, Reading, cannot_tell, reading
from turnwell.steam.crossing import spans_within
from turnwell.steam.cycle import AirRemoval, Cycle, Sensors
from turnwell.steam.quality import rows_of
from turnwell.steam.record import Record
from turnwell.steam.stage import Course, StageKind
from turnwell.steam.tolerance import half_width
from turnwell.steam.water import saturation_temperature_c
from turnwell.words import Message

__all__ = ["air_removal_readings"]

# Steam flows through an open vent: boiling temperature at little over the atmosphere's pressure.
VENT_OVER_KPA = 12.0
VENT_NEAR_K = 3.0
# A vacuum worth the name lies this far below the atmosphere.
VACUUM_KPA = 20.0
# Further from the atmosphere than this, weather and a wrong height do not explain it.
AT_REST_KPA = 25.0


def air_removal_readings(
    record: Record, cycle: Cycle, course: Course, sensors: Sensors
) -> tuple[Reading, ...]:
    """Give the pulses and their depth and, for gravity cycles, `venting_s`."""
    found = [_pulses(record, cycle, course), _depth(record, course, sensors)]
    if cycle.air_removal is AirRemoval.GRAVITY or not course.pulses:
        found.append(_venting(record, course))
    return tuple(found)


def _pulses(record: Record, cycle: Cycle, course: Course) -> Reading:
    key, limit = "air_removal_pulses", None
    if cycle.pulses is not None:
        limit = Limit(low=float(cycle.pulses), high=None, source=cycle.source, basis=cycle.basis)
    if not record.has_pressure:
        return cannot_tell(key, "", Message("steam.no_pressure"), limit=limit)
    if _begins_late(record):
        return cannot_tell(key, "", Message("steam.begins_late"), limit=limit)
    count = float(len(course.pulses))
    why = Message("steam.no_planned_pulses") if limit is None else None
    return reading(key, count, count, count, "", limit=limit, why=why)


def _depth(record: Record, course: Course, sensors: Sensors) -> Reading:
    """Deepest vacuum before heating; a gravity cycle draws none."""
    key, unit = "air_removal_depth_kpa", "kPa"
    if not record.has_pressure:
        return cannot_tell(key, unit, Message("steam.no_pressure"))
    if _begins_late(record):
        return cannot_tell(key, unit, Message("steam.begins_late"))
    lows = [pulse.low_kpa for pulse in course.pulses]
    if not lows or min(lows) > record.atmosphere_kpa - VACUUM_KPA:
        return cannot_tell(key, unit, Message("steam.no_vacuum_before_heating"))
    value, half = min(lows), half_width(sensors.pressure_kpa)
    why = Message("steam.no_depth_limit")
    low = min(value, max(0.0, value - half))
    return reading(key, value, low, value + half, unit, why=why)


def _begins_late(record: Record) -> bool:
    """Whether the chamber is not at rest when the record begins."""
    there = record.pressure_kpa[np.isfinite(record.pressure_kpa)]
    return bool(there.size) and abs(float(there[0]) - record.atmosphere_kpa) > AT_REST_KPA


def _vented_s(record: Record, course: Course) -> float:
    """Give the longest time in the heating at which steam flowed out at about the atmosphere."""
    heating = course.stage(StageKind.HEATING)
    if heating is None or not record.has_pressure:
        return 0.0
    rows = rows_of(record, heating.start_s, heating.stop_s)
    pressure = record.pressure_kpa[rows]
    if pressure.size < 2:
        return 0.0
    near = np.abs(record.temperature_c[rows] - saturation_temperature_c(pressure)) <= VENT_NEAR_K
    values = np.where(near, pressure, np.inf)
    spans = spans_within(
        record.time_s[rows],
        values,
        record.atmosphere_kpa - VENT_OVER_KPA,
        record.atmosphere_kpa + VENT_OVER_KPA,
    )
    return max((span.duration_s for span in spans), default=0.0)


def _venting(record: Record, course: Course) -> Reading:
    if not record.has_pressure:
        return cannot_tell("venting_s", "s", Message("steam.no_pressure"))
    value, step = _vented_s(record, course), record.interval_s
    why = Message("steam.venting")
    return reading("venting_s", value, max(0.0, value - step), value + step, "s", why=why)
