"""The plateau: time in the band, temperatures, and how far the steam is from saturation."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.measure import Limit, Reading, cannot_tell, reading, resolution
from turnwell.steam.crossing import Span, longest, spans_within
from turnwell.steam.cycle import Cycle, Sensors
from turnwell.steam.noise import digit_of
from turnwell.steam.quality import holding_rows, rows_of, saturation_difference_k, smooth
from turnwell.steam.record import Record
from turnwell.steam.stage import Course, StageKind
from turnwell.steam.tolerance import TWO_SIDED_95, half_width
from turnwell.steam.water import saturation_slope_k_per_kpa
from turnwell.words import Message, Param

__all__ = ["holding_readings", "longest_in_band_s"]

Array = NDArray[np.float64]
# Chance takes a row this many standard deviations away in one of 30,000.
SIGMAS = 4.0
# No chamber sensor in service is noisier, and none is written more coarsely.
NOISIEST_K, COARSEST_K = 0.1, 1.0
# Noise is measured this far about the band; corners of the run are in the rest of the rows.
AROUND_K, CALM_SHARE = 0.5, 0.95
# Width of the band of large sterilizers, EN 285, from memory; that of small ones is 4 K.
NARROW_K = 3.0
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


def longest_in_band_s(
    record: Record, low_c: float, high_c: float, *, over_gaps: bool = False
) -> float:
    """Give the longest unbroken time in a band, single wild rows left out.

    A plateau that lies at the band's edge crosses it by noise and rounding alone: an excursion is a
    break only where it is deeper than these explain. A gap is a break, too; with `over_gaps` it is
    none where the rows at both its ends are in the band.
    """
    values = smooth(record, record.temperature_c)
    noise = _Noise.of(record.temperature_c, low_c, high_c)
    is_gap = np.zeros(record.time_s.size - 1, dtype=np.bool_) if over_gaps else record.is_gap
    joined: list[Span] = []
    for span in spans_within(record.time_s, values, low_c, high_c, is_gap=is_gap):
        if joined:
            first, last = np.searchsorted(record.time_s, (joined[-1].stop_s, span.start_s))
            between = values[first:last]
            outside = np.maximum(low_c - between, between - high_c)
            is_whole = not np.any(is_gap[max(first - 1, 0) : last])
            if is_whole and noise.explains(outside):
                joined[-1] = Span(joined[-1].start_s, span.stop_s)
                continue
        joined.append(span)
    found = longest(tuple(joined))
    return 0.0 if found is None else found.duration_s


@dataclass(frozen=True, slots=True)
class _Noise:
    """What a logged temperature may be off by, row by row.

    Parameters
    ----------
    sample_k : float
        Standard deviation of a row.
    digit_k : float
        Last digit; half of it is rounded away.
    """

    sample_k: float
    digit_k: float

    @classmethod
    def of(cls, temperature_c: Array, low_c: float, high_c: float) -> "_Noise":
        """Tell it from the second differences in and about a band, the largest of them left out."""
        digit_k = min(digit_of(temperature_c), COARSEST_K)
        with np.errstate(invalid="ignore"):
            near = (temperature_c >= low_c - AROUND_K) & (temperature_c <= high_c + AROUND_K)
        bends = np.abs(np.diff(temperature_c, 2))[near[2:] & near[1:-1] & near[:-2]]
        kept = np.sort(bends)[: int(CALM_SHARE * bends.size)]
        # 0.798 σ is the mean size of a normal error, √6 σ that of a second difference.
        spread = float(np.mean(kept)) / (0.798 * 6.0**0.5) if kept.size else 0.0
        return cls(min(max(spread, digit_k / 12.0**0.5), NOISIEST_K), digit_k)

    def explains(self, outside_k: Array) -> bool:
        """Whether rows so far outside may be inside: none by 4 σ, nor their mean by 4 σ / √n."""
        if outside_k.size == 0:
            return True
        deeper = outside_k - self.digit_k / 2.0
        bound_k = SIGMAS * self.sample_k
        mean_k = float(np.mean(deeper))
        return float(np.max(deeper)) <= bound_k and mean_k <= bound_k / outside_k.size**0.5


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
    # What was not seen may have been in the band; that it was is not proven by it.
    unseen_s = longest_in_band_s(record, *band, over_gaps=True)
    low, high = max(0.0, min(value, *moved) - edge_s), max(value, unseen_s, *moved) + edge_s
    why = None
    if limit is None:
        why = Message("steam.no_planned_hold")
    elif cycle.hold_s is not None and low < cycle.hold_s <= high:
        is_seen = max(value, *moved) + edge_s >= cycle.hold_s
        bound: dict[str, Param] = {"bound_k": sensors.temperature_k}
        why = Message("steam.band_not_proven", bound) if is_seen else Message("steam.band_not_seen")
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
    smoothed = smooth(record, record.temperature_c)
    values = np.array([]) if rows is None else smoothed[rows]
    values = values[np.isfinite(values)]
    if values.size == 0:
        why = Message("steam.no_plateau")
        lowest, highest = (cannot_tell(key, "°C", why, limit=limit) for key in keys)
        return lowest, highest
    half = half_width(sensors.temperature_k)
    silent = Message("steam.no_planned_band") if limit is None else None
    # The settling rises from the set temperature, so it has no lowest; an overshoot lies in it.
    plateau = course.stage(StageKind.PLATEAU)
    whole = smoothed[
        slice(0) if plateau is None else rows_of(record, plateau.start_s, plateau.stop_s)
    ]
    ends = float(values.min()), float(np.nanmax(np.append(whole, values)))
    wide = silent
    if band is not None and band[0] + NARROW_K < ends[1] and ends[1] + half <= band[1]:
        # Small sterilizers are given a wider band than large ones: a drift shows here first.
        wide = Message("steam.above_narrow_band", {"narrow_k": NARROW_K})
    lowest, highest = (
        reading(key, value, value - half, value + half, "°C", limit=limit, why=why)
        for key, value, why in zip(keys, ends, (silent, wide), strict=True)
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
