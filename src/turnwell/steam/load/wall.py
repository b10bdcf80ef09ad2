"""Heat that a load takes up from the chamber's wall while the vacuum stands.

References
----------
[INCROPERA2007], chapter 13: radiation between a wall and what it sees.
"""

import numpy as np
from numpy.typing import NDArray

from turnwell.units import celsius_to_kelvin

__all__ = ["POUCH_M2", "wall_heat_w"]

# Exact since 2019, W/(m² K⁴) [CODATA2018].
STEFAN_BOLTZMANN = 5.670374419e-8
# One face of a pouch of 90 x 230 mm: common practice.
POUCH_M2 = 0.02
Array = NDArray[np.float64]


def wall_heat_w(
    area_m2: float | Array,
    *,
    emissivity: float | Array,
    wall_c: float | Array,
    load_c: float | Array,
) -> Array:
    """Radiation onto a face: ε σ A (T_wall⁴ - T_load⁴).

    Parameters
    ----------
    area_m2 : float or array
        That the wall sees.
    emissivity : float or array
        Of both together, 0 (wholly shielded) to 1 (black).
    wall_c, load_c : float or array
        Temperatures.

    Returns
    -------
    array
        Watts.

    Examples
    --------
    >>> float(wall_heat_w(1.0, emissivity=1.0, wall_c=134.0, load_c=45.8).round())
    971.0
    """
    wall = celsius_to_kelvin(np.asarray(wall_c, dtype=np.float64)) ** 4
    load = celsius_to_kelvin(np.asarray(load_c, dtype=np.float64)) ** 4
    radiated = np.asarray(emissivity) * STEFAN_BOLTZMANN * np.asarray(area_m2)
    return np.asarray(radiated * (wall - load))
