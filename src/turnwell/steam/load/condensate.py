"""Steam that condenses on a cold load, and what boils off again when the pressure is let off.

The heat balance of a load on which all its condensate stays. Values may be arrays, so that a whole
range of cases is worked out at once.

References
----------
[INCROPERA2007], heat balance of a body with constant heat capacity; evaporation heat by
`turnwell.steam.water`.
"""

import numpy as np
from numpy.typing import NDArray

from turnwell.steam.water import evaporation_heat_kj_kg, saturation_temperature_c

__all__ = ["condensate_g", "left_after_flash_g"]

# Of liquid water between 20 and 134 °C, as a mean; J/(g K).
WATER_J_GK = 4.19
# Gauss-Legendre points: the evaporation heat is all but straight between the two temperatures.
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(4)
Array = NDArray[np.float64]


def condensate_g(
    heat_j_k: float | Array,
    water_before_g: float | Array,
    *,
    start_c: float | Array,
    steam_c: float | Array,
) -> Array:
    """Steam that condenses to warm a load: Q = (Σ m c + m_w c_w)(T_s - T_0), over h_fg(T_s).

    Parameters
    ----------
    heat_j_k : float or array
        Σ m c of the load, J/K, >= 0.
    water_before_g : float or array
        Water on it before, grams, >= 0.
    start_c, steam_c : float or array
        Temperatures before and of the steam, 0 <= start_c <= steam_c.

    Returns
    -------
    array
        Grams: the least that must condense. Wet steam and wrapping add up to some 40 %.

    Examples
    --------
    >>> float(condensate_g(70.0 * 0.5, 0.0, start_c=20.0, steam_c=134.0).round(4))
    1.8455
    """
    steam = np.asarray(steam_c, dtype=np.float64)
    heat = np.asarray(heat_j_k) + np.asarray(water_before_g) * WATER_J_GK
    warmed = heat * (steam - np.asarray(start_c))
    return np.asarray(warmed / evaporation_heat_kj_kg(steam))


def left_after_flash_g(
    heat_j_k: float | Array,
    water_g: float | Array,
    *,
    steam_c: float | Array,
    pressure_kpa: float | Array,
) -> Array:
    """Water left when a wet load has boiled down to the temperature of a pressure.

    The load's own heat evaporates its water: dm_w = (m c + m_w c_w) dT / h_fg(T), from the steam's
    temperature to that of boiling under the pressure, solved in closed form.

    Parameters
    ----------
    heat_j_k : float or array
        Σ m c of the load, J/K.
    water_g : float or array
        Condensate and what was there before.
    steam_c : float or array
        Where it begins.
    pressure_kpa : float or array
        Absolute; where it ends.

    Examples
    --------
    >>> float(left_after_flash_g(35.0, 1.8455, steam_c=134.0, pressure_kpa=10.0).round(2))
    0.32
    """
    warm = np.asarray(steam_c, dtype=np.float64)
    boiling = saturation_temperature_c(np.asarray(pressure_kpa, dtype=np.float64))
    cold = np.minimum(boiling, warm)
    middle, half = (warm + cold) / 2.0, (warm - cold) / 2.0
    points = middle[..., None] + half[..., None] * POINTS
    over_heat = half * np.sum(WEIGHTS / evaporation_heat_kj_kg(points), axis=-1)
    # Linear in the water: heat of the load counted as water, m c / c_w, shrinks along with it.
    as_water = np.asarray(heat_j_k, dtype=np.float64) / WATER_J_GK
    left = (as_water + water_g) * np.exp(-WATER_J_GK * over_heat) - as_water
    return np.asarray(np.maximum(left, 0.0))
