"""The frequency weighting A of sound level meters, from the poles that define it.

The standard does not tabulate the weighting first: it defines it by four poles that follow from
rounded design numbers, and prints the table from them. The poles are made here in the same way, so
that nothing depends on rounded ones.

References
----------
[IEC61672-1], annex E: C-weighting by two double poles so that the response is 3 dB down at 10^1.5
and 10^3.9 Hz; A-weighting adds two high-pass poles at (3 -+ sqrt 5)/2 times 10^2.45 Hz.
"""

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from turnwell.errors import InputError

__all__ = ["POLES_HZ", "a_weighting_db", "a_weighting_power"]

_REFERENCE_HZ = 1_000.0
_LOW_HZ = 10.0**1.5
_HIGH_HZ = 10.0**3.9
_MIDDLE_HZ = 10.0**2.45
_FALL = sqrt(0.5)


def _poles_hz() -> tuple[float, float, float, float]:
    """Give the four pole frequencies, from the lowest to the highest."""
    c = (_LOW_HZ * _HIGH_HZ) ** 2
    low, high, reference = _LOW_HZ**2, _HIGH_HZ**2, _REFERENCE_HZ**2
    b = (reference + c / reference - _FALL * (low + high)) / (1.0 - _FALL)
    root = sqrt(b * b - 4.0 * c)
    first, last = sqrt(0.5 * (-b - root)), sqrt(0.5 * (-b + root))
    return (
        first,
        0.5 * (3.0 - sqrt(5.0)) * _MIDDLE_HZ,
        0.5 * (3.0 + sqrt(5.0)) * _MIDDLE_HZ,
        last,
    )


POLES_HZ = _poles_hz()


def a_weighting_power(frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Give the factor by which the weighting A multiplies the power at a frequency.

    Parameters
    ----------
    frequency_hz : array-like
        Finite, >= 0.

    Returns
    -------
    array of float64, of the same shape
        1 at 1 kHz, 0 at 0 Hz.

    Raises
    ------
    InputError
        If a frequency is negative or not finite.

    Examples
    --------
    >>> bool(a_weighting_power([1_000.0])[0] == 1.0)
    True
    """
    frequency = np.asarray(frequency_hz, dtype=np.float64)
    if not (np.isfinite(frequency).all() and np.all(frequency >= 0.0)):
        raise InputError("a frequency is negative or no finite number; it must be >= 0 Hz")
    return _response(frequency**2) / _response(np.float64(_REFERENCE_HZ**2))


def a_weighting_db(frequency_hz: ArrayLike) -> NDArray[np.float64]:
    """Give the weighting A in decibels; minus infinity at 0 Hz.

    Parameters
    ----------
    frequency_hz : array-like
        Finite, >= 0.

    Examples
    --------
    >>> [round(float(value), 1) for value in a_weighting_db([100.0, 1_000.0, 6_310.0])]
    [-19.1, 0.0, -0.1]
    """
    with np.errstate(divide="ignore"):
        return 10.0 * np.log10(a_weighting_power(frequency_hz))


def _response(square: NDArray[np.float64] | np.float64) -> NDArray[np.float64]:
    """Power response at squared frequencies, not yet 1 at 1 kHz."""
    first, second, third, last = (pole * pole for pole in POLES_HZ)
    gain = np.asarray(square * last) / ((square + first) * (square + last))
    response: NDArray[np.float64] = gain**2 * square**2 / ((square + second) * (square + third))
    return response
