"""A slow way to the vacuum: air leaking in, or water of a large load boiling off.

Boiling water holds the temperature at the boiling point of the falling pressure: a shoulder. A leak
leaves the temperature high above it, raises the floor, and leaves air in the steam while holding,
though the pulses were deep enough to take it out.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.crossing import fall_s
from turnwell.steam.fault import Fault, FaultKey
from turnwell.steam.faults.saturation import is_everywhere
from turnwell.steam.faults.signs import MIXING, Signs
from turnwell.steam.quality import rows_of
from turnwell.steam.readings.drying import pull_down_s
from turnwell.steam.stage import Stage, StageKind, Sure
from turnwell.steam.water import saturation_temperature_c
from turnwell.words import Message, Param

__all__ = ["leak_fault", "overload_fault"]

Array = NDArray[np.float64]
# Boiling: within this of the boiling point, at pressures where a pump is not yet at its floor.
BOILING_K = 5.0
BOILING_KPA = (12.0, 75.0)
# A clean run passes the boiling point in a few seconds, and a pump falls by a quarter in 10 to 30.
SHOULDER_S = 75.0
SHOULDER_MOST_KPA = 75.0
# The pump that drew the first vacuum takes about as long for the drying's, unless steam of boiling
# water comes after.
LONGER_S, TIMES_LONGER = 60.0, 2.2
# A pump that merely takes its time in drying slows down nowhere for as long as this.
SLOW_S = 40.0
FALL_FROM_KPA, FALL_TO_KPA = 80.0, 20.0
# A leak keeps the floor between a good pump's 4 to 8 kPa and a weak pump's 20 to 40.
LEAK_FLOOR_KPA = 7.5
LEAK_FLOOR_MOST_KPA = 26.0
# Air of 8 kPa and more while holding; at 134 °C it makes 0.9 K.
LEAK_AIR_KPA = 6.0
LEAK_AIR_MOST_KPA = 22.0
LEAK_PULL_DOWN_S = 75.0


@dataclass(frozen=True, slots=True)
class _PullDown:
    """The way from the exhaust's end to the floor of the drying.

    Parameters
    ----------
    to_20_kpa_s : float or None
        From 80 to 20 kPa; None where 20 kPa is not reached.
    longer_s, times_longer : float
        By how much it took longer than the first vacuum of the same run between the same
        pressures; 0 and 1 where there is none to compare.
    shoulder_s : float
        Longest time in which the pressure over the floor fell by a quarter only.
    first_shoulder_s : float
        The same in the first vacuum of the run.
    boiling_s : float
        Time in it at the boiling point.
    floor_kpa : float
        Median of the deepest tenth of the drying.
    heating_s : float
        From the last vacuum to the plateau.
    """

    to_20_kpa_s: float | None
    longer_s: float
    times_longer: float
    shoulder_s: float
    first_shoulder_s: float
    boiling_s: float
    floor_kpa: float
    heating_s: float


def _pull_down_of(signs: Signs, stage: Stage) -> _PullDown | None:
    """Measure the pull-down of the drying; None without pressure."""
    rows = rows_of(signs.record, stage.start_s, stage.stop_s)
    times, pressure = signs.record.time_s[rows], signs.pressure_kpa[rows]
    known = pressure[np.isfinite(pressure)]
    if known.size < 3:
        return None
    floor = float(np.median(np.sort(known)[: max(3, known.size // 10)]))
    with np.errstate(invalid="ignore"):
        at_floor = np.flatnonzero(pressure <= max(1.15 * floor, floor + 1.5))
    stop = int(at_floor[0]) + 1 if at_floor.size else pressure.size
    heating = signs.course.stage(StageKind.HEATING)
    longer_s, times_longer = _against_first(signs, stage, floor)
    return _PullDown(
        to_20_kpa_s=pull_down_s(signs.record, stage, 0.0),
        longer_s=longer_s,
        times_longer=times_longer,
        shoulder_s=_shoulder_s(times[:stop], pressure[:stop], floor),
        first_shoulder_s=_first_shoulder_s(signs, floor),
        boiling_s=_boiling_s(times[:stop], signs.temperature_c[rows][:stop], pressure[:stop]),
        floor_kpa=floor,
        heating_s=0.0 if heating is None else heating.duration_s,
    )


def _against_first(signs: Signs, stage: Stage, floor_kpa: float) -> tuple[float, float]:
    """Compare the pull-down with that of the first vacuum: the same pump, and no steam to boil."""
    record, removal = signs.record, signs.course.stage(StageKind.AIR_REMOVAL)
    if removal is None or not signs.course.pulses:
        return 0.0, 1.0
    pulse = signs.course.pulses[0]
    high_kpa = min(FALL_FROM_KPA, record.atmosphere_kpa - 5.0)
    low_kpa = max(FALL_TO_KPA, pulse.low_kpa + 2.0, 1.2 * floor_kpa + 2.0)
    spans = ((removal.start_s - 10.0, pulse.low_s + 10.0), (stage.start_s - 60.0, stage.stop_s))
    first_s, drying_s = (
        fall_s(record.time_s[rows], signs.pressure_kpa[rows], high_kpa, low_kpa)
        for rows in (rows_of(record, *span) for span in spans)
    )
    if first_s is None or drying_s is None:
        return 0.0, 1.0
    return drying_s - first_s, drying_s / max(first_s, record.interval_s)


def _shoulder_s(times: Array, pressure_kpa: Array, floor_kpa: float) -> float:
    """Longest time for a fall by a quarter of what lies over the floor, well above the floor.

    A pump with time constant τ takes 0.29 τ for it.
    """
    chosen = np.isfinite(pressure_kpa) & (np.nan_to_num(pressure_kpa) <= SHOULDER_MOST_KPA)
    falling = np.minimum.accumulate(pressure_kpa[chosen])
    high = falling >= 1.5 * floor_kpa + 4.0
    over, at_s = falling[high] - floor_kpa, times[chosen][high]
    if over.size < 2:
        return 0.0
    # Rising after the sign is turned, so that the end of each fall can be looked up at once.
    ends = np.searchsorted(-over, -0.75 * over, side="right")
    return float(np.max(at_s[np.minimum(ends, over.size - 1)] - at_s))


def _first_shoulder_s(signs: Signs, floor_kpa: float) -> float:
    """Give the same of the first vacuum: a weak pump takes its time in both."""
    removal = signs.course.stage(StageKind.AIR_REMOVAL)
    if removal is None or not signs.course.pulses:
        return 0.0
    rows = rows_of(signs.record, removal.start_s, signs.course.pulses[0].low_s)
    return _shoulder_s(signs.record.time_s[rows], signs.pressure_kpa[rows], floor_kpa)


def _boiling_s(times: Array, temperature_c: Array, pressure_kpa: Array) -> float:
    if times.size < 2:
        return 0.0
    over = temperature_c - saturation_temperature_c(pressure_kpa)
    low, high = BOILING_KPA
    with np.errstate(invalid="ignore"):
        boiling = (np.abs(over) <= BOILING_K) & (pressure_kpa >= low) & (pressure_kpa <= high)
    return float(np.sum(np.diff(times)[boiling[1:] & boiling[:-1]]))


def overload_fault(signs: Signs) -> Fault | None:
    """Give the fault of a pull-down that water of the load holds up."""
    stage = signs.drying
    way = None if stage is None or not signs.has_pump else _pull_down_of(signs, stage)
    if stage is None or way is None:
        return None
    is_longer = way.longer_s >= LONGER_S and way.times_longer >= TIMES_LONGER
    is_longer = is_longer and max(way.shoulder_s, way.boiling_s) >= SLOW_S
    has_shoulder = way.shoulder_s >= max(SHOULDER_S, way.first_shoulder_s + LONGER_S)
    if not (has_shoulder or is_longer or way.boiling_s >= SHOULDER_S):
        return None
    params: dict[str, Param] = {
        "boiling_s": way.boiling_s,
        "shoulder_s": way.shoulder_s,
        "longer_s": max(0.0, way.longer_s),
        "heating_s": way.heating_s,
        "floor_kpa": way.floor_kpa,
    }
    return Fault(
        FaultKey.OVERLOAD_SUSPECTED,
        Message("steam_fault.overload_suspected", params),
        Sure.LIKELY,
        stage.start_s,
        stage.stop_s,
    )


def leak_fault(signs: Signs) -> Fault | None:
    """Give the fault of a slow and shallow vacuum with air that the pulses do not account for."""
    stage, plateau = signs.drying, signs.plateau
    if stage is None or plateau is None or not signs.has_pump:
        return None
    way = _pull_down_of(signs, stage)
    if way is None or not LEAK_FLOOR_KPA <= way.floor_kpa <= LEAK_FLOOR_MOST_KPA:
        return None
    air_kpa = -plateau.median_k / plateau.slope_k_per_kpa
    least_kpa = LEAK_AIR_KPA + 0.3 * signs.step_k / plateau.slope_k_per_kpa
    is_slow = way.to_20_kpa_s is None or way.to_20_kpa_s >= LEAK_PULL_DOWN_S
    if not least_kpa <= air_kpa <= LEAK_AIR_MOST_KPA or not is_slow:
        return None
    # A sensor that reads low shows it in every stretch; then there is no air to explain.
    if MIXING * signs.left_air_kpa() >= air_kpa or is_everywhere(signs, plateau):
        return None
    params: dict[str, Param] = {"floor_kpa": way.floor_kpa, "air_kpa": air_kpa}
    key = "steam_fault.air_leak_floor"
    if way.to_20_kpa_s is not None:
        key, params["pull_down_s"] = "steam_fault.air_leak_suspected", way.to_20_kpa_s
    return Fault(
        FaultKey.AIR_LEAK_SUSPECTED, Message(key, params), Sure.LIKELY, stage.start_s, stage.stop_s
    )
