"""The squared envelope of a band, as sound at a lower rate.

The band is cut out by its Fourier lines (an ideal filter) and shifted to zero frequency, which also
makes it analytic; the square of its size is the squared envelope. Impulses that ring a resonance in
the band show there at their own rate, however high the resonance lies.

References
----------
Squared envelope of an ideally filtered band: [RANDALL2011], section 4 (from memory).
"""

from math import ceil

import numpy as np
from scipy import fft

from turnwell.sound.orders.angle import Samples, Sound

__all__ = ["octaves_below", "squared_envelope"]

_LONGEST_PART = 1 << 17
_PAD = 256
_BANDS = 3


def octaves_below(edge_hz: float, lowest_hz: float) -> tuple[tuple[float, float], ...]:
    """Give octave bands from an edge downward, at most three, none below a lowest frequency.

    >>> octaves_below(40_000.0, 9_000.0)
    ((20000.0, 40000.0), (10000.0, 20000.0))
    """
    bands = [(edge_hz / 2.0 ** (n + 1), edge_hz / 2.0**n) for n in range(_BANDS)]
    return tuple(band for band in bands if band[0] >= lowest_hz)


def squared_envelope(
    sound: Sound, band_hz: tuple[float, float], start_s: float, stop_s: float
) -> Sound:
    """Give the squared envelope of a band between two instants.

    Its rate is at least twice the width of the band, so that squaring folds nothing.
    """
    first = max(int((start_s - sound.start_s) * sound.rate_hz), 0)
    last = min(int((stop_s - sound.start_s) * sound.rate_hz) + 1, sound.samples.size)
    low_hz, high_hz = band_hz
    finer = max(ceil(sound.rate_hz / (2.0 * (high_hz - low_hz))) - 1, 1)
    while finer > 1 and sound.rate_hz / finer < 2.0 * (high_hz - low_hz):
        finer -= 1
    parts: list[Samples] = []
    begin = first
    while begin < last:
        end = min(begin + _LONGEST_PART // finer * finer, last)
        parts.append(_of_part(sound, band_hz, begin, end, finer))
        begin = end
    samples = np.concatenate(parts) if parts else np.empty(0, np.float32)
    start_s = sound.start_s + first / sound.rate_hz
    return Sound(samples, sound.rate_hz / finer, start_s)


def _of_part(
    sound: Sound, band_hz: tuple[float, float], begin: int, end: int, finer: int
) -> Samples:
    """Envelope of the samples from `begin` to `end`, every `finer`-th, from a padded part."""
    before = min(_PAD // finer * finer, begin // finer * finer)
    part = sound.samples[begin - before : min(end + _PAD, sound.samples.size)]
    # A length that the lower rate divides keeps both grids of samples in step.
    short = fft.next_fast_len(ceil(part.size / finer))
    size = short * finer
    lines = fft.rfft(part, size)
    low, high = (round(f / sound.rate_hz * size) for f in band_hz)
    moved = np.zeros(short, lines.dtype)
    kept = lines[low : min(high, low + short)]
    moved[: kept.size] = kept
    analytic = fft.ifft(moved) * np.float32(2.0 / finer)
    inner = analytic[before // finer : before // finer + ceil((end - begin) / finer)]
    squared: Samples = inner.real**2 + inner.imag**2
    return squared
