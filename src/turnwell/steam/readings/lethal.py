"""F0, the lethality of saturated steam alone, and another F(Tref, z) beside them."""

from dataclasses import dataclass

import numpy as np

from turnwell.errors import InputError
from turnwell.measure import Limit, Reading, cannot_tell, reading
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.lethality import Lethality, lethal_rate, lethality
from turnwell.steam.quality import holding_rows, saturation_difference_k, smooth
from turnwell.steam.record import Record
from turnwell.steam.stage import Course
from turnwell.steam.tolerance import half_width
from turnwell.steam.water import saturation_slope_k_per_kpa, saturation_temperature_c
from turnwell.units import s_to_min
from turnwell.words import Message

__all__ = ["LethalityScale", "lethal_readings"]

UNIT = "min"


@dataclass(frozen=True, slots=True)
class LethalityScale:
    """The reference temperature and z of another lethality than F0.

    Parameters
    ----------
    reference_c : float
        60 to 180 °C.
    z_k : float
        Kelvin for a tenfold rate, 1 to 50.

    Raises
    ------
    InputError
        If the temperature is not in 60 to 180 °C or z not in 1 to 50 K.
    """

    reference_c: float
    z_k: float

    def __post_init__(self) -> None:
        if not 60.0 <= self.reference_c <= 180.0 or not 1.0 <= self.z_k <= 50.0:
            raise InputError(
                f"a reference of {self.reference_c:g} °C with z {self.z_k:g} K is out of range; "
                "give 60 to 180 °C and 1 to 50 K"
            )


def lethal_readings(
    record: Record, cycle: Cycle, course: Course, sensors: Sensors, *, other: LethalityScale | None
) -> tuple[Reading, ...]:
    """Give `f0_min`, `lethality_saturated_min` and, where asked for, `lethality_other_min`."""
    found = [_f0(record, cycle, course, sensors), _saturated(record, cycle, sensors)]
    if other is not None:
        found.append(_other(record, sensors, other))
    return tuple(found)


def _f0(record: Record, cycle: Cycle, course: Course, sensors: Sensors) -> Reading:
    limit = _limit(cycle)
    holding = holding_rows(record, course)
    if holding is None or not np.any(np.isfinite(record.temperature_c)):
        return cannot_tell("f0_min", UNIT, Message("steam.no_plateau"), limit=limit)
    found = lethality(record.time_s, record.temperature_c, is_gap=record.is_gap)
    low, high = found.spread(half_width(sensors.temperature_k))
    shown = _saturation_shown(record, cycle, course)
    return reading(
        "f0_min",
        found.minutes,
        low,
        high,
        UNIT,
        limit=limit,
        name=None if shown else Message("reading.f0_temperature_equivalent"),
        why=_why(found, shown=shown, has_pressure=record.has_pressure, has_limit=limit is not None),
    )


def _saturation_shown(record: Record, cycle: Cycle, course: Course) -> bool:
    """Whether the median difference while holding lies inside its limit."""
    holding = holding_rows(record, course)
    if holding is None or not record.has_pressure:
        return False
    difference = smooth(record, saturation_difference_k(record, course))[holding]
    difference = difference[np.isfinite(difference)]
    if difference.size == 0:
        return False
    middle = float(np.median(difference))
    low, high = cycle.saturation.low, cycle.saturation.high
    return (low is None or middle >= low) and (high is None or middle <= high)


def _saturated(record: Record, cycle: Cycle, sensors: Sensors) -> Reading:
    """Lethality of the lower of measured and boiling temperature: what steam alone did."""
    key, limit = "lethality_saturated_min", _limit(cycle)
    if not record.has_pressure:
        return cannot_tell(key, UNIT, Message("steam.no_pressure"), limit=limit)
    boiling = saturation_temperature_c(record.pressure_kpa)
    if not np.any(np.isfinite(boiling) & np.isfinite(record.temperature_c)):
        return cannot_tell(key, UNIT, Message("steam.no_pressure"), limit=limit)
    lower = np.where(np.isnan(boiling), np.nan, np.minimum(record.temperature_c, boiling))
    # A row without a boiling temperature under deep vacuum lies far below 100 °C anyhow.
    deep = np.nan_to_num(record.pressure_kpa, nan=np.inf) < 1.0
    lower = np.where(deep, 0.0, lower)
    found = lethality(record.time_s, lower, is_gap=record.is_gap)
    hottest_kpa = float(record.pressure_kpa[np.nanargmax(boiling)])
    slope = saturation_slope_k_per_kpa(hottest_kpa)
    bound_k = max(sensors.temperature_k, sensors.pressure_kpa * slope)
    low, high = found.spread(half_width(bound_k))
    why = Message("steam.saturated_only")
    if found.left_out_s > 0.0:
        why = Message("steam.time_left_out", {"left_out_s": found.left_out_s})
    return reading(key, found.minutes, low, high, UNIT, limit=limit, why=why)


def _other(record: Record, sensors: Sensors, other: LethalityScale) -> Reading:
    name = Message(
        "reading.lethality_other_min", {"reference_c": other.reference_c, "z_k": other.z_k}
    )
    if not np.any(np.isfinite(record.temperature_c)):
        why = Message("steam.no_temperature")
        return cannot_tell("lethality_other_min", UNIT, why, name=name)
    found = lethality(
        record.time_s,
        record.temperature_c,
        reference_c=other.reference_c,
        z_k=other.z_k,
        is_gap=record.is_gap,
    )
    f0 = lethality(record.time_s, record.temperature_c, is_gap=record.is_gap)
    low, high = found.spread(half_width(sensors.temperature_k))
    why = Message(
        "steam.other_beside_f0",
        {
            "reference_c": other.reference_c,
            "z_k": other.z_k,
            "minutes": found.minutes,
            "f0_min": f0.minutes,
        },
    )
    return reading("lethality_other_min", found.minutes, low, high, UNIT, name=name, why=why)


def _limit(cycle: Cycle) -> Limit | None:
    """At least the planned hold at the set temperature; None where the plan does not say both."""
    if cycle.set_c is None or cycle.hold_s is None:
        return None
    # Three digits: no chamber sensor tells more.
    hold_min = s_to_min(cycle.hold_s)
    least = float(f"{hold_min * float(lethal_rate(cycle.set_c)):.3g}")
    source = f"{hold_min:g} min at {cycle.set_c:g} °C as F0; {cycle.source}"
    return Limit(low=least, high=None, source=source, basis=cycle.basis)


def _why(found: Lethality, *, shown: bool, has_pressure: bool, has_limit: bool) -> Message | None:
    if found.left_out_s > 0.0:
        return Message("steam.time_left_out", {"left_out_s": found.left_out_s})
    if not has_pressure:
        return Message("steam.saturation_not_recorded")
    if not shown:
        return Message("steam.saturation_not_shown")
    return None if has_limit else Message("steam.no_planned_hold")
