"""The curves as stages are found from: gapless, freed of single stray samples, with their noise."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.noise import sample_noise
from turnwell.steam.record import Record
from turnwell.steam.water import saturation_pressure_kpa

__all__ = ["Signals", "signals_of"]

# Above this step between samples a stray one cannot be told from a real one.
FINE_S = 5.0
# A chamber at rest stands within this of the atmosphere the weather makes.
WEATHER_KPA = 4.0
REST_S = 10.0
# No chamber sensor is noisier; where more is seen, the run moves faster than it was sampled.
NOISIEST_KPA = 2.0
NOISIEST_K = 0.6
# Air at 4,500 m, and at sea level in the highest pressure of weather.
THIN_KPA = 57.0
DENSE_KPA = 108.0


@dataclass(frozen=True, slots=True, eq=False)
class Signals:
    """Time, temperature and pressure without holes.

    Parameters
    ----------
    time_s, temperature_c, pressure_kpa : arrays, shape (n,)
        Finite; where no pressure was logged, what saturated steam of that temperature has, or the
        atmosphere below it.
    logged_kpa : array, shape (n,)
        The pressure with its single strays: what a sharp low or high really came to.
    noise_kpa, noise_k : float
        Standard deviation of a sample, at least what its last digit leaves open.
    atmosphere_kpa : float
        What the chamber rests at: seen at the ends of the record where they are near the given one.
    has_pressure : bool
    """

    time_s: NDArray[np.float64]
    temperature_c: NDArray[np.float64]
    pressure_kpa: NDArray[np.float64]
    logged_kpa: NDArray[np.float64]
    noise_kpa: float
    noise_k: float
    atmosphere_kpa: float
    has_pressure: bool

    @property
    def interval_s(self) -> float:
        """The usual step between samples."""
        return float(np.median(np.diff(self.time_s)))

    def within(self, start: int, stop: int) -> slice:
        """Give the samples of a stretch, both ends included."""
        return slice(start, stop + 1)

    def crossing_s(self, values: NDArray[np.float64], index: int, level: float) -> float:
        """Give when a curve crosses a level between sample `index` - 1 and `index`."""
        if index <= 0:
            return float(self.time_s[0])
        before, after = float(values[index - 1]), float(values[index])
        early, late = float(self.time_s[index - 1]), float(self.time_s[index])
        if after == before or not min(before, after) <= level <= max(before, after):
            return late
        return early + (late - early) * (float(level) - before) / (after - before)


def signals_of(record: Record) -> Signals | None:
    """Prepare the curves of a record; None where it has no temperature at all."""
    time_s = record.time_s
    temperature_c = _filled(time_s, record.temperature_c)
    if temperature_c is None:
        return None
    logged = _filled(time_s, record.pressure_kpa)
    is_fine = record.interval_s <= FINE_S
    temperature_c = _without_strays(temperature_c) if is_fine else temperature_c
    if logged is None:
        boiling = saturation_pressure_kpa(np.clip(temperature_c, 1.0, 370.0))
        pressure_kpa = np.maximum(boiling, record.atmosphere_kpa)
        atmosphere_kpa = record.atmosphere_kpa
    else:
        pressure_kpa = _without_strays(logged) if is_fine else logged
        atmosphere_kpa = _rest_kpa(time_s, pressure_kpa, record.atmosphere_kpa)
    return Signals(
        time_s=time_s,
        temperature_c=temperature_c,
        pressure_kpa=pressure_kpa,
        logged_kpa=pressure_kpa if logged is None else logged,
        noise_kpa=sample_noise(record.pressure_kpa, NOISIEST_KPA) if logged is not None else 0.5,
        noise_k=sample_noise(record.temperature_c, NOISIEST_K),
        atmosphere_kpa=atmosphere_kpa,
        has_pressure=logged is not None,
    )


def _filled(time_s: NDArray[np.float64], values: NDArray[np.float64]) -> NDArray[np.float64] | None:
    """Draw straight lines over missing values; None where nearly all are missing."""
    there = np.isfinite(values)
    if np.count_nonzero(there) < 2:
        return None
    return values if there.all() else np.interp(time_s, time_s[there], values[there])


def _without_strays(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Give the running median of three, which keeps edges where they are."""
    if values.size < 3:
        return values
    three = np.stack((values[:-2], values[1:-1], values[2:]))
    middle = np.median(three, axis=0)
    return np.concatenate((values[:1], middle, values[-1:]))


def _rest_kpa(
    time_s: NDArray[np.float64], pressure_kpa: NDArray[np.float64], given_kpa: float
) -> float:
    """Give the pressure of the first or last moments where it is that of a place's air."""
    first = float(np.median(pressure_kpa[time_s <= time_s[0] + REST_S]))
    last = float(np.median(pressure_kpa[time_s >= time_s[-1] - REST_S]))
    near = [value for value in (first, last) if abs(value - given_kpa) <= WEATHER_KPA]
    if near:
        return float(np.mean(near))
    # The place's altitude may be unknown: a chamber that rests at both ends tells it.
    agree = abs(first - last) <= WEATHER_KPA / 2.0 and THIN_KPA <= first <= DENSE_KPA
    return (first + last) / 2.0 if agree else given_kpa
