"""Saturation of water by CoolProp, tabulated finely enough to be called for every row.

The table's own error is below 2e-6 K; nothing of it comes from the project.
"""

from functools import cache

import numpy as np
from CoolProp.CoolProp import PropsSI
from numpy.typing import NDArray

__all__ = ["boiling_c", "boiling_kpa"]

ICE_C = 273.15
POINTS = 6_000


@cache
def _table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Logarithm of the pressure in kPa, and the temperature at which water boils at it."""
    log_kpa = np.linspace(np.log(0.65), np.log(600.0), POINTS)
    return log_kpa, np.asarray(PropsSI("T", "P", 1e3 * np.exp(log_kpa), "Q", 1, "Water")) - ICE_C


def boiling_c(pressure_kpa):
    """Temperature at which water boils."""
    log_kpa, temperature_c = _table()
    return np.interp(np.log(np.maximum(pressure_kpa, 0.65)), log_kpa, temperature_c)


def boiling_kpa(temperature_c):
    """Pressure at which water boils."""
    log_kpa, table_c = _table()
    return np.exp(np.interp(temperature_c, table_c, log_kpa))
