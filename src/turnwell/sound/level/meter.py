"""A sound level meter for samples: A-weights them and follows their loudness.

Blocks of the sound are multiplied by the weighting in the frequency domain with zero phase; blocks
overlap by far more than the weighting rings, so the joints carry no error. Its lowest poles, a
double one at 20.6 Hz, ring with exp(-2 pi 20.6 t): after 0.2 s some 1e-11 is left. Where a sound
begins or breaks off the weighting would answer to the cut, so as much is heard there and not
counted.

References
----------
Weighting A, time weighting F (125 ms): [IEC61672-1], 5.5 and 5.8.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.level.weighting import a_weighting_power

__all__ = ["Metered", "metered"]

Floats = NDArray[np.float64]

FAST_S = 0.125
_BLOCK_S = 2.0
_OVERLAP_S = 0.2
_STEP_S = 0.001
_STEADY_S = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Metered:
    """A-weighted power of a sound.

    Parameters
    ----------
    mean : float
        Mean square of the A-weighted sound, full scale being 1.
    loudest : float
        Highest value of the square with time weighting F, from 125 ms after the beginning on.
    halves : array, shape (n,)
        Mean square of each half second, to see how the sound varied.
    """

    mean: float
    loudest: float
    halves: Floats


def metered(
    samples: NDArray[np.float32], rate_hz: float, *, first: int = 0, last: int | None = None
) -> Metered:
    """Measure the A-weighted power of a stretch of a sound.

    Parameters
    ----------
    samples : array, shape (n,)
        Full scale 1. The outermost 0.2 s, or a tenth of a shorter sound, never count.
    rate_hz : float
        Samples per second.
    first, last : int
        The stretch is ``samples[first:last]``; at least some milliseconds of it can count.

    Examples
    --------
    >>> time_s = np.arange(48_000) / 48_000.0
    >>> tone = np.sin(2.0 * np.pi * 1_000.0 * time_s).astype(np.float32)
    >>> round(metered(tone, 48_000.0).mean, 3)
    0.5
    """
    step = max(round(_STEP_S * rate_hz), 1)
    cut = min(round(_OVERLAP_S * rate_hz), samples.size // 10)
    last = samples.size if last is None else last
    stretch = range(max(first, cut), min(last, samples.size - cut))
    steps = np.concatenate(
        [_means(block, step) for block in _weighted(samples, rate_hz, stretch, step)]
    )
    fade = np.exp(-step / (FAST_S * rate_hz))
    from_hop = min(round(FAST_S * rate_hz / step), steps.size - 1)
    halves = max(round(_STEADY_S * rate_hz / step), 1)
    whole = steps.size // halves * halves
    return Metered(
        mean=float(steps.mean()),
        loudest=_loudest(steps, float(fade), from_hop),
        halves=steps[:whole].reshape(-1, halves).mean(axis=1) if whole else steps[:1],
    )


def _weighted(
    samples: NDArray[np.float32], rate_hz: float, stretch: range, step: int
) -> Iterator[Floats]:
    """Give a stretch of the A-weighted sound block by block; blocks are whole steps long."""
    from scipy.fft import irfft, next_fast_len, rfft, rfftfreq

    overlap = round(_OVERLAP_S * rate_hz)
    hop = max(round(_BLOCK_S * rate_hz) // step, 1) * step
    size = next_fast_len(hop + 2 * overlap, real=True)
    gain = np.sqrt(a_weighting_power(rfftfreq(size, 1.0 / rate_hz)))
    for start in range(stretch.start, stretch.stop, hop):
        begin = max(start - overlap, 0)
        piece = samples[begin : start + hop + overlap].astype(np.float64)
        weighted = irfft(rfft(piece, size) * gain, size)
        yield weighted[start - begin : min(start + hop, stretch.stop) - begin]


def _means(block: Floats, step: int) -> Floats:
    """Give the mean square of each step; what is left over at the end is dropped."""
    whole = block.size // step * step
    means: Floats = np.mean(block[:whole].reshape(-1, step) ** 2, axis=1)
    return means


def _loudest(steps: Floats, fade: float, first: int) -> float:
    """Give the highest exponentially weighted mean, the beginning left out.

    It starts from the mean of the first 125 ms, not from silence.
    """
    held = float(steps[: max(first, 1)].mean())
    highest = held
    for power in steps[first:].tolist():
        held = fade * held + (1.0 - fade) * power
        highest = max(highest, held)
    return highest
