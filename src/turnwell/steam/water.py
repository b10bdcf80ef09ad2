"""Water at saturation: pressure, temperature, evaporation heat, density of steam; the atmosphere.

References
----------
[IAPWS-IF97], region 4 (equations 30 and 31): pressure and temperature at saturation, 0 to 374 °C.
[WAGNER1993], equation 2.7: density of saturated vapour.
[ICAO1993]: the standard atmosphere.
"""

from typing import overload

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.units import celsius_to_kelvin, kelvin_to_celsius

__all__ = [
    "STANDARD_ATMOSPHERE_KPA",
    "TRIPLE_POINT_KPA",
    "atmosphere_kpa",
    "evaporation_heat_kj_kg",
    "saturation_pressure_kpa",
    "saturation_slope_k_per_kpa",
    "saturation_temperature_c",
    "steam_density_kg_m3",
]

# At the level of the sea, [ICAO1993].
STANDARD_ATMOSPHERE_KPA = 101.325
TRIPLE_POINT_KPA = 0.611657
CRITICAL_K = 647.096
CRITICAL_C = kelvin_to_celsius(CRITICAL_K)
CRITICAL_KPA = 22_064.0
CRITICAL_KG_M3 = 322.0
# Coefficients n1 to n10 of region 4.
N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)
# Exponents (of 1 - T / critical) and coefficients of the density of saturated vapour.
VAPOUR = (
    (2 / 6, -2.03150240),
    (4 / 6, -2.68302940),
    (8 / 6, -5.38626492),
    (18 / 6, -17.2991605),
    (37 / 6, -44.7586581),
    (71 / 6, -63.9201063),
)
# Evaporation heat in kJ/kg by powers of °C / 100: own fit to [IAPWS-IF97] regions 1 and 2 at
# saturation, 1 to 200 °C, whose largest difference is 0.03 kJ/kg.
EVAPORATION = (2500.8945, -236.8906, 2.6295, -8.0708, -2.0871)
WARMEST_C = 200.0
Array = NDArray[np.float64]


@overload
def saturation_pressure_kpa(temperature_c: float) -> float: ...
@overload
def saturation_pressure_kpa(temperature_c: Array) -> Array: ...
def saturation_pressure_kpa(temperature_c: float | Array) -> float | Array:
    """Pressure at which water boils at a temperature, [IAPWS-IF97] equation 30.

    Parameters
    ----------
    temperature_c : float or array, shape (n,)
        0 to 373.9 °C; NaN gives NaN.

    Returns
    -------
    float or array, shape (n,)
        Kilopascal absolute; NaN in an array where the temperature is out of range.

    Raises
    ------
    InputError
        If a single temperature is out of range.

    Examples
    --------
    >>> round(saturation_pressure_kpa(134.0), 3)
    304.199
    """
    celsius = np.asarray(temperature_c, dtype=np.float64)
    _refuse_outside(celsius, 0.0, CRITICAL_C, "temperature", "°C")
    return _given(1e3 * _beta(_theta(celsius_to_kelvin(_inside(celsius, 0.0, CRITICAL_C)))) ** 4)


@overload
def saturation_temperature_c(pressure_kpa: float) -> float: ...
@overload
def saturation_temperature_c(pressure_kpa: Array) -> Array: ...
def saturation_temperature_c(pressure_kpa: float | Array) -> float | Array:
    """Temperature at which water boils under a pressure, [IAPWS-IF97] equation 31.

    Parameters
    ----------
    pressure_kpa : float or array, shape (n,)
        Absolute, from the triple point, 0.611657 kPa, to 22,064 kPa; NaN gives NaN.

    Returns
    -------
    float or array, shape (n,)
        Degrees Celsius; NaN in an array where the pressure is out of range, as the noise of a gauge
        near zero makes it.

    Raises
    ------
    InputError
        If a single pressure is out of range.

    Examples
    --------
    >>> round(saturation_temperature_c(304.0), 4)
    133.9776
    """
    kpa = np.asarray(pressure_kpa, dtype=np.float64)
    _refuse_outside(kpa, TRIPLE_POINT_KPA, CRITICAL_KPA, "pressure", "kPa")
    beta = np.sqrt(np.sqrt(_inside(kpa, TRIPLE_POINT_KPA, CRITICAL_KPA) / 1e3))
    e = (beta + N[2]) * beta + N[5]
    f = (N[0] * beta + N[3]) * beta + N[6]
    g = (N[1] * beta + N[4]) * beta + N[7]
    d = 2.0 * g / (-f - np.sqrt(f * f - 4.0 * e * g))
    sum_ = N[9] + d
    kelvin = (sum_ - np.sqrt(sum_ * sum_ - 4.0 * (N[8] + N[9] * d))) / 2.0
    return _given(kelvin_to_celsius(kelvin))


@overload
def saturation_slope_k_per_kpa(pressure_kpa: float) -> float: ...
@overload
def saturation_slope_k_per_kpa(pressure_kpa: Array) -> Array: ...
def saturation_slope_k_per_kpa(pressure_kpa: float | Array) -> float | Array:
    """How far the boiling temperature moves with the pressure, by the slope of equation 29.

    It turns an error of the gauge into one of temperature: 0.11 K per kPa at 304 kPa, 2 at 10 kPa.

    >>> round(saturation_slope_k_per_kpa(304.0), 4)
    0.1125
    """
    celsius = np.asarray(saturation_temperature_c(pressure_kpa), dtype=np.float64)
    return _given(1.0 / _slope_kpa_per_k(celsius_to_kelvin(celsius)))


@overload
def evaporation_heat_kj_kg(temperature_c: float) -> float: ...
@overload
def evaporation_heat_kj_kg(temperature_c: Array) -> Array: ...
def evaporation_heat_kj_kg(temperature_c: float | Array) -> float | Array:
    """Heat that turns a kilogram of boiling water to steam.

    Parameters
    ----------
    temperature_c : float or array, shape (n,)
        0 to 200 °C; NaN gives NaN.

    Examples
    --------
    >>> round(evaporation_heat_kj_kg(134.0), 1)
    2162.0
    """
    celsius = np.asarray(temperature_c, dtype=np.float64)
    _refuse_outside(celsius, 0.0, WARMEST_C, "temperature", "°C")
    part = _inside(celsius, 0.0, WARMEST_C) / 100.0
    return _given(np.asarray(np.polynomial.polynomial.polyval(part, EVAPORATION)))


@overload
def steam_density_kg_m3(temperature_c: float) -> float: ...
@overload
def steam_density_kg_m3(temperature_c: Array) -> Array: ...
def steam_density_kg_m3(temperature_c: float | Array) -> float | Array:
    """Density of saturated steam, [WAGNER1993] equation 2.7.

    >>> round(steam_density_kg_m3(133.9776), 3)
    1.671
    """
    celsius = np.asarray(temperature_c, dtype=np.float64)
    _refuse_outside(celsius, 0.0, CRITICAL_C, "temperature", "°C")
    kelvin = celsius_to_kelvin(_inside(celsius, 0.0, CRITICAL_C))
    return _given(np.asarray(_vapour(1.0 - kelvin / CRITICAL_K)))


def atmosphere_kpa(altitude_m: float) -> float:
    """Pressure of the standard atmosphere at a height above the sea, [ICAO1993].

    The weather moves it by about ± 2 kPa.

    Parameters
    ----------
    altitude_m : float
        -430 to 6,000 m.

    Examples
    --------
    >>> round(atmosphere_kpa(1000.0), 2)
    89.87
    """
    if not -430.0 <= altitude_m <= 6000.0:
        raise InputError(f"altitude is {altitude_m:g} m, must lie between -430 and 6000")
    return float(STANDARD_ATMOSPHERE_KPA * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588)


def _theta(kelvin: Array) -> Array:
    return kelvin + N[8] / (kelvin - N[9])


def _beta(theta: Array) -> Array:
    """Fourth root of the pressure in megapascal."""
    a = (theta + N[0]) * theta + N[1]
    b = (N[2] * theta + N[3]) * theta + N[4]
    c = (N[5] * theta + N[6]) * theta + N[7]
    return np.asarray(2.0 * c / (-b + np.sqrt(b * b - 4.0 * a * c)))


def _slope_kpa_per_k(kelvin: Array) -> Array:
    """Rise of the saturation pressure with temperature: equation 29, differentiated."""
    theta = _theta(kelvin)
    beta = _beta(theta)
    by_theta = (
        beta * beta * (2.0 * theta + N[0])
        + beta * (2.0 * N[2] * theta + N[3])
        + 2.0 * N[5] * theta
        + N[6]
    )
    by_beta = 2.0 * beta * ((theta + N[0]) * theta + N[1]) + (N[2] * theta + N[3]) * theta + N[4]
    theta_by_kelvin = 1.0 - N[8] / (kelvin - N[9]) ** 2
    return np.asarray(-4e3 * beta**3 * by_theta / by_beta * theta_by_kelvin)


def _vapour(tau: Array) -> Array:
    return np.asarray(CRITICAL_KG_M3 * np.exp(sum(c * tau**power for power, c in VAPOUR)))


def _inside(values: Array, low: float, high: float) -> Array:
    """Put NaN in place of what is out of range."""
    return np.where((values >= low) & (values <= high), values, np.nan)


def _refuse_outside(value: Array, low: float, high: float, what: str, unit: str) -> None:
    """Refuse a single value out of range; of an array, it becomes NaN."""
    if value.ndim == 0 and (value < low or value > high):
        raise InputError(f"{what} is {value:g} {unit}, must lie between {low:g} and {high:g}")


def _given(values: Array) -> float | Array:
    """Give a float for a single value, else the array."""
    return float(values) if values.ndim == 0 else values
