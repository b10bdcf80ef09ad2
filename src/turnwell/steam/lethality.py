"""Lethality: how many minutes at a reference temperature a run is worth.

References
----------
[STUMBO1973] and [ISO17665]: the lethal rate is 10^((T - Tref) / z); F0 has Tref 121.1 °C, z 10 K.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError
from turnwell.units import s_to_min

__all__ = ["FLOOR_C", "REFERENCE_C", "Z_K", "Lethality", "lethal_rate", "lethality"]

REFERENCE_C = 121.1
Z_K = 10.0
# z is constant in a limited range only. The rate under 90 °C is below 0.0008: what is left out
# there is under 0.1 % of any cycle; a floor of 100 °C would leave out 0.6 % by a long warm drying.
FLOOR_C = 90.0

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Lethality:
    """Minutes at the reference temperature.

    Parameters
    ----------
    minutes : float
        >= 0.
    left_out_s : float
        Time that counts as zero: gaps, and steps to or from a row without a temperature.
    unseen_minutes : float
        What that time would add if it had been as hot as the hotter of the rows at its ends.
    reference_c, z_k : float
        What it refers to.
    """

    minutes: float
    left_out_s: float
    unseen_minutes: float = 0.0
    reference_c: float = REFERENCE_C
    z_k: float = Z_K

    def spread(self, half_width_k: float) -> tuple[float, float]:
        """Give the ends of its interval for one temperature error within ± half_width_k.

        The error multiplies every rate alike, so the upper end lies farther away than the lower;
        what was not seen may have counted, too.

        >>> low, high = Lethality(10.0, 0.0).spread(0.5)
        >>> round(low, 3), round(high, 3)
        (8.913, 11.22)
        """
        factor = 10.0 ** (half_width_k / self.z_k)
        return self.minutes / factor, (self.minutes + self.unseen_minutes) * factor


def lethal_rate(
    temperature_c: Array | float, *, reference_c: float = REFERENCE_C, z_k: float = Z_K
) -> Array:
    """Give 10^((T - Tref) / z), without the floor; NaN gives NaN.

    >>> round(float(lethal_rate(134.0)), 4)
    19.4984
    """
    if not z_k > 0.0 or not np.isfinite(z_k + reference_c):
        raise InputError(f"z is {z_k:g} K and the reference {reference_c:g} °C; z must be above 0")
    return np.asarray(10.0 ** ((np.asarray(temperature_c, dtype=float) - reference_c) / z_k))


def lethality(
    time_s: Array,
    temperature_c: Array,
    *,
    reference_c: float = REFERENCE_C,
    z_k: float = Z_K,
    floor_c: float = FLOOR_C,
    is_gap: NDArray[np.bool_] | None = None,
) -> Lethality:
    """Integrate the lethal rate by the trapezium rule.

    Parameters
    ----------
    time_s : array, shape (n,)
        Strictly rising, n >= 2.
    temperature_c : array, shape (n,)
        NaN where a row has none; its two steps count as zero.
    reference_c : float
        °C.
    z_k : float
        Kelvin for a tenfold rate, > 0.
    floor_c : float
        Below it a row counts as zero.
    is_gap : array of bool, shape (n - 1,), or None
        Steps in which lines are missing; they count as zero, for nothing was seen there.

    Raises
    ------
    InputError
        If the arrays do not fit or z is not above 0.

    Notes
    -----
    At 10 s between rows the rule may be 4.5 % off in a fast run, at 2 s 0.5 %.

    Examples
    --------
    >>> import numpy as np
    >>> round(lethality(np.array([0.0, 180.0]), np.array([134.0, 134.0])).minutes, 4)
    58.4953
    """
    if time_s.size != temperature_c.size or time_s.size < 2:
        raise InputError("lethality needs times and temperatures of the same length, 2 at least")
    rate = lethal_rate(temperature_c, reference_c=reference_c, z_k=z_k)
    rate = np.where(temperature_c < floor_c, 0.0, rate)
    steps_s = np.diff(time_s)
    areas = 0.5 * (rate[1:] + rate[:-1]) * steps_s
    unseen = np.isnan(areas)
    if is_gap is not None:
        unseen |= is_gap
    return Lethality(
        minutes=s_to_min(float(np.sum(areas[~unseen]))),
        left_out_s=float(np.sum(steps_s[unseen])),
        unseen_minutes=s_to_min(float(np.sum((_hotter(rate) * steps_s)[unseen]))),
        reference_c=reference_c,
        z_k=z_k,
    )


def _hotter(rate: Array) -> Array:
    """Give the rate of the hotter end of each step; a row without a temperature has none."""
    known = np.nan_to_num(rate)
    return np.asarray(np.maximum(known[1:], known[:-1]))
