"""Third-octave bands: which there are, and the power of a sound in each.

The bands lie in the base-ten system: mid-band frequencies 1000 Hz x 10^(n/10), edges a twentieth of
a decade to either side. The sound is cut into overlapping Hann blocks whose windows, squared and
summed, are constant, so that every sample counts alike; a bin that an edge cuts is shared between
its two bands.

References
----------
Frequencies and edges: [IEC61260-1], 5.2 to 5.4; nominal names: [ISO266]. The filters here fall off
as steeply as a Hann window does, much steeper than the standard's filters of class 1.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError

__all__ = ["Band", "PowerSpectrum", "bands_between", "power_in", "power_spectrum"]

Floats = NDArray[np.float64]

BLOCK_S = 1.0
# A third of the block: the squares of so many Hann windows sum to a constant.
_HOPS = 3
_NOMINAL = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
_HALF = 10.0**0.05  # edge over mid-band frequency
# A tone spreads over four bins under a Hann window; a narrower band would lose a part of it.
_FEWEST_BINS = 5.0


@dataclass(frozen=True, slots=True)
class Band:
    """One third-octave band.

    Parameters
    ----------
    number : int
        n of 1000 Hz x 10^(n/10).

    Examples
    --------
    >>> band = Band(8)
    >>> round(band.mid_hz, 1), band.nominal_hz, round(band.low_hz), round(band.high_hz)
    (6309.6, 6300.0, 5623, 7079)
    """

    number: int

    @property
    def mid_hz(self) -> float:
        """Exact mid-band frequency."""
        return float(1_000.0 * 10.0 ** (self.number / 10.0))

    @property
    def nominal_hz(self) -> float:
        """Rounded frequency the band is called by."""
        decade, step = divmod(self.number, 10)
        return float(_NOMINAL[step] * 10.0 ** (3 + decade))

    @property
    def low_hz(self) -> float:
        """Lower edge."""
        return self.mid_hz / _HALF

    @property
    def high_hz(self) -> float:
        """Upper edge."""
        return self.mid_hz * _HALF


@dataclass(frozen=True, slots=True, eq=False)
class PowerSpectrum:
    """Mean power of a sound, bin by bin.

    Parameters
    ----------
    power : array, shape (n,)
        Mean square that each bin holds; their sum is the mean square of the sound.
    bin_hz : float
        Distance of the bins.
    blocks : int
        How many blocks were averaged.
    """

    power: Floats
    bin_hz: float
    blocks: int


def bands_between(low_hz: float, high_hz: float) -> tuple[Band, ...]:
    """Give the third-octave bands that lie wholly between two frequencies.

    Parameters
    ----------
    low_hz, high_hz : float
        Finite, 0 < low <= high.

    Raises
    ------
    InputError
        If the range is no range.

    Examples
    --------
    >>> [band.nominal_hz for band in bands_between(4_000.0, 12_000.0)]
    [5000.0, 6300.0, 8000.0, 10000.0]
    """
    if not (np.isfinite([low_hz, high_hz]).all() and 0.0 < low_hz <= high_hz):
        raise InputError(f"bands are asked from {low_hz} to {high_hz} Hz; give 0 < low <= high")
    first = int(np.ceil(10.0 * np.log10(low_hz / 1_000.0) + 0.5 - 1e-9))
    last = int(np.floor(10.0 * np.log10(high_hz / 1_000.0) - 0.5 + 1e-9))
    return tuple(Band(number) for number in range(first, last + 1))


def power_spectrum(samples: NDArray[np.float32], rate_hz: float) -> PowerSpectrum:
    """Give the mean power spectrum of a sound in blocks of one second, or of all where it is less.

    Parameters
    ----------
    samples : array, shape (n,)
        At least 16.
    rate_hz : float
        Samples per second.

    Raises
    ------
    InputError
        If there are too few samples.
    """
    from scipy.fft import rfft

    if samples.size < 16:
        raise InputError(f"{samples.size} samples are no sound; at least 16 are needed")
    size = min(round(BLOCK_S * rate_hz), samples.size) // _HOPS * _HOPS
    window = 0.5 - 0.5 * np.cos(2.0 * np.pi * np.arange(size) / size)
    window = (window / np.sqrt(np.mean(window**2))).astype(np.float32)
    starts = range(0, samples.size - size + 1, size // _HOPS)
    total = np.zeros(size // 2 + 1)
    for start in starts:
        bins = rfft(window * samples[start : start + size])
        total += bins.real.astype(np.float64) ** 2 + bins.imag.astype(np.float64) ** 2
    total *= 2.0 / (len(starts) * float(size) ** 2)
    total[0] *= 0.5
    if size % 2 == 0:
        total[-1] *= 0.5
    return PowerSpectrum(total, rate_hz / size, len(starts))


def power_in(spectrum: PowerSpectrum, bands: tuple[Band, ...]) -> Floats:
    """Give the mean square that each band holds.

    Parameters
    ----------
    spectrum : PowerSpectrum
    bands : tuple of Band

    Returns
    -------
    array of float64, shape (number of bands,)
        NaN where a band is narrower than five bins or reaches above the highest bin.

    Examples
    --------
    >>> import numpy as np
    >>> tone = np.sin(2.0 * np.pi * 1_000.0 * np.arange(48_000) / 48_000.0).astype(np.float32)
    >>> round(float(power_in(power_spectrum(tone, 48_000.0), (Band(0),))[0]), 4)
    0.5
    """
    edges_hz = (np.arange(spectrum.power.size + 1) - 0.5) * spectrum.bin_hz
    below = np.concatenate(([0.0], np.cumsum(spectrum.power)))
    low = np.array([band.low_hz for band in bands])
    high = np.array([band.high_hz for band in bands])
    power = np.interp(high, edges_hz, below) - np.interp(low, edges_hz, below)
    is_known = (high - low >= _FEWEST_BINS * spectrum.bin_hz) & (high <= edges_hz[-1])
    return np.where(is_known, power, np.nan)
