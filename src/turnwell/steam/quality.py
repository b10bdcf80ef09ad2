"""How far the steam is from saturation: measured less boiling temperature, stretch by stretch.

One difference has several possible causes; what tells them apart is how it goes from stretch to
stretch. An offset of the temperature sensor is the same in all of them, an offset of the pressure
grows with dTsat/dp, air fades from pulse to pulse and lies below zero, superheat lies above.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.record import Record
from turnwell.steam.stage import Course, Stage, StageKind
from turnwell.steam.water import saturation_slope_k_per_kpa, saturation_temperature_c

__all__ = [
    "Stretch",
    "StretchKind",
    "holding_rows",
    "rows_of",
    "saturation_difference_k",
    "smooth",
    "stretches_of",
]

Array = NDArray[np.float64]
# Under this pressure 1.5 kPa is more than 0.7 K: saturation is not judged there.
LEAST_KPA = 50.0
# A reference point may take this long to settle once the set temperature is reached: EN 285 for
# small chambers, from memory. What comes before is not "while holding".
SETTLING_S = 15.0
# The top of a pulse: how far about the highest pressure, what share of it, and for how long.
TOP_AROUND_S, TOP_SHARE, TOP_S = 20.0, 0.96, 4.0
# Steam flows through an open vent within this of the atmosphere; only its last part is without air.
VENT_KPA, VENT_LEAST_C, VENT_S = 8.0, 65.0, 30.0
VENT_SHORTEST_S = 45.0
# The first part of the exhaust, as a share of the pressure there.
EXHAUST_SHARE = 0.80
# The running median of three takes out single wild rows; at wider steps it would hide real dips.
FINE_S = 3.0
STEAM_STAGES = (StageKind.AIR_REMOVAL, StageKind.HEATING, StageKind.PLATEAU, StageKind.EXHAUST)


class StretchKind(StrEnum):
    """Where saturated steam is meant to be."""

    PULSE = "top of a steam pulse"
    VENTING = "end of the venting"
    HEATING = "heating"
    PLATEAU = "plateau"
    EXHAUST = "start of the exhaust"


@dataclass(frozen=True, slots=True)
class Stretch:
    """The difference in one saturated stretch.

    Parameters
    ----------
    kind : StretchKind
    start_s, stop_s : float
    rows : int
    median_k : float
        Median of measured less saturated temperature.
    spread_k : float
        Half of the range that holds the middle 68 %.
    pressure_kpa : float
        Mean.
    slope_k_per_kpa : float
        dTsat/dp there: what 1 kPa of pressure error makes.
    """

    kind: StretchKind
    start_s: float
    stop_s: float
    rows: int
    median_k: float
    spread_k: float
    pressure_kpa: float
    slope_k_per_kpa: float


def smooth(record: Record, values: Array) -> Array:
    """Take out single wild rows by a running median of three; at steps over 3 s leave all as is.

    The first and the last row stay. NaN spreads to its neighbours no farther than that.
    """
    if record.interval_s > FINE_S or values.size < 3:
        return values
    left, middle, right = values[:-2], values[1:-1], values[2:]
    median = np.maximum(np.minimum(left, middle), np.minimum(np.maximum(left, middle), right))
    smoothed = values.copy()
    smoothed[1:-1] = np.where(np.isnan(median), middle, median)
    return smoothed


def rows_of(record: Record, start_s: float, stop_s: float) -> slice:
    """Give the rows whose time lies in [start_s, stop_s]."""
    first = int(np.searchsorted(record.time_s, start_s, side="left"))
    last = int(np.searchsorted(record.time_s, stop_s, side="right"))
    return slice(first, last)


def holding_rows(record: Record, course: Course) -> slice | None:
    """Give the plateau's rows without its settling and the edge of its end; None without one."""
    plateau = course.stage(StageKind.PLATEAU)
    if plateau is None:
        return None
    edge_s = min(max(2.0 * record.interval_s, 2.0), plateau.duration_s / 8.0)
    settling_s = min(SETTLING_S, plateau.duration_s / 4.0)
    rows = rows_of(record, plateau.start_s + settling_s, plateau.stop_s - edge_s)
    return rows if rows.stop > rows.start else None


def saturation_difference_k(record: Record, course: Course) -> Array:
    """Give measured less boiling temperature where saturated steam is meant to be.

    Parameters
    ----------
    record : Record
    course : Course

    Returns
    -------
    array, shape (n,)
        In kelvin; NaN in the drying, under 50 kPa and where a value is missing.
    """
    difference = record.temperature_c - saturation_temperature_c(record.pressure_kpa)
    meant = np.zeros(record.time_s.size, dtype=bool)
    for stage in course.stages:
        if stage.kind in STEAM_STAGES:
            meant[rows_of(record, stage.start_s, stage.stop_s)] = True
    with np.errstate(invalid="ignore"):
        meant &= record.pressure_kpa >= LEAST_KPA
    return np.where(meant, difference, np.nan)


def stretches_of(record: Record, course: Course) -> tuple[Stretch, ...]:
    """Give the saturated stretches in order of time; none without pressure.

    Parameters
    ----------
    record : Record
    course : Course
    """
    if not record.has_pressure:
        return ()
    difference = record.temperature_c - saturation_temperature_c(record.pressure_kpa)
    heating = course.stage(StageKind.HEATING)
    # The rise after the last vacuum is the heating, not a pulse.
    until_s = np.inf if heating is None else heating.start_s
    found = [
        _stretch(record, difference, StretchKind.PULSE, _top(record, pulse.high_s))
        for pulse in course.pulses
        if pulse.high_kpa >= record.atmosphere_kpa + 5.0 and pulse.low_s < pulse.high_s < until_s
    ]
    if heating is not None:
        venting = _venting(record, heating)
        found.append(_stretch(record, difference, StretchKind.VENTING, venting))
        late = rows_of(record, heating.start_s + 0.5 * heating.duration_s, heating.stop_s)
        found.append(_stretch(record, difference, StretchKind.HEATING, late))
    holding = holding_rows(record, course)
    if holding is not None:
        found.append(_stretch(record, difference, StretchKind.PLATEAU, holding))
    exhaust = course.stage(StageKind.EXHAUST)
    if exhaust is not None:
        found.append(_stretch(record, difference, StretchKind.EXHAUST, _first_of(record, exhaust)))
    return tuple(stretch for stretch in found if stretch is not None)


def _top(record: Record, high_s: float) -> slice:
    """Rows around the highest measured temperature of a pulse, while the pressure stays high.

    A sensor that lags reads τ · dT/dt too little: nothing where its own reading turns. So the top
    is taken of the measured temperature, a few seconds after that of the pressure.
    """
    near = rows_of(record, high_s - TOP_AROUND_S, high_s + TOP_AROUND_S)
    pressure = record.pressure_kpa[near]
    with np.errstate(invalid="ignore"):
        is_high = pressure >= TOP_SHARE * np.nanmax(pressure)
    temperature = np.where(is_high, record.temperature_c[near], np.nan)
    if not np.any(np.isfinite(temperature)):
        return slice(near.start, near.start)
    highest = np.flatnonzero(temperature == np.nanmax(temperature))
    last = near.start + int(highest[-1])
    first = int(np.searchsorted(record.time_s, record.time_s[last] - TOP_S))
    return slice(max(first, near.start + int(np.flatnonzero(is_high)[0])), last + 1)


def _venting(record: Record, heating: Stage) -> slice:
    """Last half minute before the pressure leaves the atmosphere, where it was hot and at rest."""
    rows = rows_of(record, heating.start_s, heating.stop_s)
    with np.errstate(invalid="ignore"):
        near = np.abs(record.pressure_kpa[rows] - record.atmosphere_kpa) <= VENT_KPA
        open_vent = np.flatnonzero(near & (record.temperature_c[rows] >= VENT_LEAST_C))
    if open_vent.size == 0:
        return slice(rows.start, rows.start)
    last = rows.start + int(open_vent[-1])
    start_s = float(record.time_s[rows.start + int(open_vent[0])])
    if record.time_s[last] - start_s < VENT_SHORTEST_S:
        return slice(rows.start, rows.start)
    first = int(np.searchsorted(record.time_s, record.time_s[last] - VENT_S))
    return slice(max(first, rows.start + int(open_vent[0])), last + 1)


def _first_of(record: Record, exhaust: Stage) -> slice:
    """Rows of the exhaust before the pressure has fallen by a fifth."""
    rows = rows_of(record, exhaust.start_s, exhaust.stop_s)
    pressure = record.pressure_kpa[rows]
    if pressure.size == 0 or not np.isfinite(pressure[0]):
        return rows
    low = np.flatnonzero(pressure < EXHAUST_SHARE * pressure[0])
    return slice(rows.start, rows.start + int(low[0])) if low.size else rows


def _stretch(record: Record, difference: Array, kind: StretchKind, rows: slice) -> Stretch | None:
    pressure = record.pressure_kpa[rows]
    good = np.isfinite(difference[rows]) & (np.nan_to_num(pressure) >= LEAST_KPA)
    if not np.any(good):
        return None
    values = difference[rows][good]
    low, middle, high = np.percentile(values, (16.0, 50.0, 84.0)).tolist()
    mean_kpa = float(np.mean(pressure[good]))
    times = record.time_s[rows][good]
    return Stretch(
        kind=kind,
        start_s=float(times[0]),
        stop_s=float(times[-1]),
        rows=int(values.size),
        median_k=middle,
        spread_k=(high - low) / 2.0,
        pressure_kpa=mean_kpa,
        slope_k_per_kpa=saturation_slope_k_per_kpa(mean_kpa),
    )
