"""Which columns, units and zero make steam of two columns: the resting pressure, and T of Tsat(p).

In the hottest part of a run steam is saturated, so that measured and saturated temperature agree
within a few kelvin even in a faulty run; a wrong unit or zero is 8 K off and more.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.water import saturation_temperature_c
from turnwell.units import (
    bar_to_kpa,
    fahrenheit_to_celsius,
    inhg_to_kpa,
    kgf_per_cm2_to_kpa,
    mbar_to_kpa,
    mmhg_to_kpa,
    mpa_to_kpa,
    pa_to_kpa,
    psi_to_kpa,
)

__all__ = ["Candidate", "Fit", "absolute_kpa", "celsius", "fits_of"]

Array = NDArray[np.float64]

TO_KPA: dict[str, Callable[[Array], Array]] = {
    "kPa": lambda values: values,
    "bar": bar_to_kpa,
    "mbar": mbar_to_kpa,
    "MPa": mpa_to_kpa,
    "Pa": pa_to_kpa,
    "psi": psi_to_kpa,
    "mmHg": mmhg_to_kpa,
    "inHg": inhg_to_kpa,
    "kg/cm2": kgf_per_cm2_to_kpa,
}
# From 4000 m up to below the sea in high pressure.
REST_KPA = (58.0, 110.0)
GAUGE_REST_KPA = 6.0
NO_REST_K = 6.0
# A run that never got hot is told by its rest alone.
COLD_K = 8.0
COLD_OVER_K = 20.0
HOT_C = (104.0, 150.0)
HOT_BELOW_TOP_K = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A column that may be the temperature or the pressure, with what is tried on it.

    Parameters
    ----------
    column : int
        From 0.
    values : array, shape (n,)
    units : tuple of str
    zeros : tuple of str
        Of a pressure alone.
    """

    column: int
    values: Array
    units: tuple[str, ...]
    zeros: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fit:
    """One reading of two columns as temperature and pressure.

    Parameters
    ----------
    temperature, pressure : int
        Columns, from 0.
    temperature_unit, pressure_unit, pressure_zero : str
    misfit_k : float
        How far measured and saturated temperature lie apart in the hot part; NaN where it has none.
    rests : bool
        Whether the record begins or ends at an atmosphere.
    top_kpa : float
        Highest absolute pressure, to tell fits that say the same.
    """

    temperature: int
    temperature_unit: str
    pressure: int
    pressure_unit: str
    pressure_zero: str
    misfit_k: float
    rests: bool
    top_kpa: float

    @property
    def score(self) -> float:
        """The lower the better, in kelvin."""
        misfit = self.misfit_k if np.isfinite(self.misfit_k) else COLD_K
        return misfit + (0.0 if self.rests else NO_REST_K)


def celsius(values: Array, unit: str) -> Array:
    """Give temperatures in °C."""
    return fahrenheit_to_celsius(values) if unit == "F" else values


def absolute_kpa(values: Array, unit: str, zero: str, atmosphere_kpa: float) -> Array:
    """Give absolute pressures in kPa."""
    pressure_kpa = TO_KPA[unit](values)
    return pressure_kpa + atmosphere_kpa if zero == "gauge" else pressure_kpa


def fits_of(
    temperatures: Sequence[Candidate], pressures: Sequence[Candidate], *, atmosphere_kpa: float
) -> list[Fit]:
    """Give all readings that physics allows, the best first.

    Parameters
    ----------
    temperatures, pressures : sequence of Candidate
    atmosphere_kpa : float
        Of the place.
    """
    found = [
        fit
        for hot in temperatures
        for unit in hot.units
        for fit in _fits_with(hot, unit, pressures, atmosphere_kpa)
    ]
    return sorted(found, key=lambda fit: fit.score)


def _fits_with(
    hot: Candidate, unit: str, pressures: Sequence[Candidate], atmosphere_kpa: float
) -> Iterator[Fit]:
    """Give the fits of one column as temperature in one unit."""
    temperature_c = celsius(hot.values, unit)
    top_c = float(np.nanpercentile(temperature_c, 99))
    low_c = float(np.nanpercentile(temperature_c, 1))
    if top_c > HOT_C[1] + 5.0 or top_c < 5.0 or low_c < -15.0:
        return
    rows = np.flatnonzero(temperature_c >= top_c - HOT_BELOW_TOP_K)
    rows = rows[:: max(1, rows.size // 300)]
    for pressed in pressures:
        if pressed.column == hot.column:
            continue
        for pressure_unit, zero in product(pressed.units, pressed.zeros):
            pressure_kpa = absolute_kpa(pressed.values, pressure_unit, zero, atmosphere_kpa)
            match = _match(temperature_c, pressure_kpa, rows, atmosphere_kpa, zero)
            if match is not None:
                yield Fit(
                    temperature=hot.column,
                    temperature_unit=unit,
                    pressure=pressed.column,
                    pressure_unit=pressure_unit,
                    pressure_zero=zero,
                    misfit_k=match.misfit_k,
                    rests=match.rests,
                    top_kpa=match.top_kpa,
                )


@dataclass(frozen=True, slots=True)
class _Match:
    """How well a temperature and a pressure make steam; see `Fit`."""

    misfit_k: float
    rests: bool
    top_kpa: float


def _match(
    temperature_c: Array,
    pressure_kpa: Array,
    hot: NDArray[np.intp],
    atmosphere_kpa: float,
    zero: str,
) -> _Match | None:
    """Hold the hot rows against saturation; None where this can be no chamber's pressure."""
    known = pressure_kpa[np.isfinite(pressure_kpa)]
    if known.size < 2:
        return None
    low, top = np.percentile(known, [0.5, 99.5]).tolist()
    if low < -3.0 or top > 550.0 or top < 55.0:
        return None
    ends = np.array([np.median(known[:3]), np.median(known[-3:])])
    if zero == "gauge":
        rests = bool(np.any(np.abs(ends - atmosphere_kpa) <= GAUGE_REST_KPA))
    else:
        rests = bool(np.any((ends > REST_KPA[0]) & (ends < REST_KPA[1])))
    top_c = float(np.nanmax(temperature_c[hot]))
    if top_c < HOT_C[0]:
        # Steam of that pressure would be far hotter: no cold run, but a wrong unit.
        over_k = float(saturation_temperature_c(top)) - top_c
        return _Match(over_k if over_k > COLD_OVER_K else float("nan"), rests, top)
    saturated_c = saturation_temperature_c(np.clip(pressure_kpa[hot], 1.0, 1000.0))
    apart = np.abs(temperature_c[hot] - saturated_c)
    apart = apart[np.isfinite(apart)]
    return _Match(float(np.percentile(apart, 70)), rests, top) if apart.size else None
