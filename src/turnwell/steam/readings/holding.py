"""The plateau: time in the band, temperatures, and how far the steam is from saturation."""

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Limit, Reading, cannot_tell, reading, resolution
from turnwell.steam.crossing import longest, spans_within
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.quality import holding_rows, saturation_difference_k, smooth
from turnwell.steam.record import Record
from turnwell.steam.stage import Course
from turnwell.steam.tolerance import TWO_SIDED_95, half_width
from turnwell.steam.water import saturation_slope_k_per_kpa
from turnwell.words import Message

__all__ = ["holding_readings", "longest_in_band_s"]

Array = NDArray[np.float64]
# Two crossings, each known to within half a row's step: 1.96 times √2 · step / √12.
SAMPLING_SHARE = TWO_SIDED_95 * 2.0**0.5 * resolution(1.0).standard


def holding_readings(
    record: Record, cycle: Cycle, course: Course, sensors: Sensors
) -> tuple[Reading, ...]:
    """Give `time_in_band_s`, the plateau's temperatures and `saturation_difference_k`."""
    return (
        _time_in_band(record, cycle, sensors),
        *_plateau(record, cycle, course, sensors),
        _difference(record, cycle, course, sensors),
    )


def longest_in_band_s(record: Record, low_c: float, high_c: float) -> float:
    """Give the longest unbroken time in a band, single wild rows left out."""
    found = longest(
        spans_within(
            record.time_s,
            smooth(record, record.temperature_c),
            low_c,
            high_c,
            is_gap=record.is_gap,
        )
    )
    return 0.0 if found is None else found.duration_s


def _time_in_band(record: Record, cycle: Cycle, sensors: Sensors) -> Reading:
    """Longest unbroken time; the interval shows how it moves with the sensor's error."""
    key, unit, band = "time_in_band_s", "s", cycle.band_c
    limit = None
    if cycle.hold_s is not None:
        limit = Limit(low=cycle.hold_s, high=None, source=cycle.source, basis=cycle.basis)
    if band is None:
        return cannot_tell(key, unit, Message("steam.no_planned_band"), limit=limit)
    if not np.any(np.isfinite(record.temperature_c)):
        return cannot_tell(key, unit, Message("steam.no_temperature"), limit=limit)
    value = longest_in_band_s(record, *band)
    half_k = half_width(sensors.temperature_k)
    shifts = np.linspace(-half_k, half_k, 5).tolist()
    moved = [longest_in_band_s(record, band[0] - shift, band[1] - shift) for shift in shifts]
    edge_s = SAMPLING_SHARE * record.interval_s
    low, high = max(0.0, min(value, *moved) - edge_s), max(value, *moved) + edge_s
    why = None
    if limit is None:
        why = Message("steam.no_planned_hold")
    elif cycle.hold_s is not None and low < cycle.hold_s <= high:
        why = Message(
            "steam.band_not_proven",
            {"low_s": low, "high_s": high, "bound_k": sensors.temperature_k},
        )
    return reading(key, value, low, high, unit, limit=limit, why=why)


def _plateau(
    record: Record, cycle: Cycle, course: Course, sensors: Sensors
) -> tuple[Reading, Reading]:
    band = cycle.band_c
    limit = None
    if band is not None:
        limit = Limit(low=band[0], high=band[1], source=cycle.source, basis=cycle.basis)
    keys = "plateau_temperature_c", "plateau_temperature_high_c"
    rows = holding_rows(record, course)
    values = np.array([]) if rows is None else smooth(record, record.temperature_c)[rows]
    values = values[np.isfinite(values)]
    if values.size == 0:
        why = Message("steam.no_plateau")
        lowest, highest = (cannot_tell(key, "°C", why, limit=limit) for key in keys)
        return lowest, highest
    half = half_width(sensors.temperature_k)
    silent = Message("steam.no_planned_band") if limit is None else None
    lowest, highest = (
        reading(key, value, value - half, value + half, "°C", limit=limit, why=silent)
        for key, value in zip(keys, (float(values.min()), float(values.max())), strict=True)
    )
    return lowest, highest


def _difference(record: Record, cycle: Cycle, course: Course, sensors: Sensors) -> Reading:
    key, unit, limit = "saturation_difference_k", "K", cycle.saturation
    if not record.has_pressure:
        return cannot_tell(key, unit, Message("steam.no_pressure"), limit=limit)
    rows = holding_rows(record, course)
    if rows is None:
        return cannot_tell(key, unit, Message("steam.no_plateau"), limit=limit)
    difference = smooth(record, saturation_difference_k(record, course))[rows]
    if not np.any(np.isfinite(difference)):
        return cannot_tell(key, unit, Message("steam.no_pressure"), limit=limit)
    at = int(np.nanargmax(np.abs(difference)))
    value = float(difference[at])
    slope = saturation_slope_k_per_kpa(float(record.pressure_kpa[rows][at]))
    half = half_width(sensors.temperature_k, sensors.pressure_kpa * slope)
    params = {"typical_k": round(float(np.nanmedian(difference)), 1) + 0.0, "half_k": half}
    why = Message("steam.difference", params)
    return reading(key, value, value - half, value + half, unit, limit=limit, why=why)
