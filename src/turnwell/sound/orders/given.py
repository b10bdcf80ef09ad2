"""The angle of a shaft whose speed another tachometer gave: constant, refined by its own lines.

A tachometer that is read by hand is good to some per cent, which is too coarse for orders. The
speed is moved within that to where whole orders of the shaft stand out most together.

References
----------
Sum over harmonics of log(1 + P/N): approximate maximum likelihood, [NIELSEN2017].
"""

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from turnwell.sound.segment import SegmentKind
from turnwell.sound.speed.turning import Turning

__all__ = ["given_turning"]

Floats = NDArray[np.float64]

_HARMONICS = 10
_MOST_SAMPLES = 1 << 20
_FLOOR_BINS = 60
_STEP_BINS = 0.2
_CAP = 6.0
# Mean and standard deviation of log(1 + x) for x exponential of mean 1: the second is 0.42 by
# theory, and more for the error of the floor.
_NOISE_MEAN, _NOISE_SD = 0.596, 0.52
_CLEAR = 6.0


def given_turning(
    samples: NDArray[np.float32], rate_hz: float, speed_hz: float, *, tolerance: float = 0.03
) -> Turning:
    """Give the stretch of a whole recording at one constant speed, refined where lines allow it.

    Parameters
    ----------
    samples : array of float32, shape (n,)
        At least some turns of the shaft.
    rate_hz : float
    speed_hz : float
        Rotation frequency as the tachometer gave it, > 0.
    tolerance : float
        Relative error that it may have.

    Returns
    -------
    Turning
        Two instants. Its standard deviation is that of the lines where they stand out, else a third
        of the tolerance.
    """
    part = samples[:_MOST_SAMPLES]
    found_hz = _found(part, rate_hz, speed_hz, tolerance)
    sd_hz = tolerance * speed_hz / 3.0
    if found_hz is not None:
        # The highest harmonics fix the speed to a part of a bin.
        sd_hz = 0.5 * rate_hz / part.size / _HARMONICS
    time_s = np.array([0.0, max(samples.size - 1, 1) / rate_hz])
    speed = speed_hz if found_hz is None else found_hz
    return Turning(SegmentKind.STEADY, time_s, np.full(2, speed), np.full(2, sd_hz))


def _found(
    samples: NDArray[np.float32], rate_hz: float, speed_hz: float, tolerance: float
) -> float | None:
    """Speed at which whole orders stand out most; None where they do not stand out."""
    bin_hz = rate_hz / max(samples.size, 1)
    harmonics = min(int(0.45 * rate_hz / (speed_hz * (1.0 + tolerance))), _HARMONICS)
    if harmonics < 1 or speed_hz < 4.0 * bin_hz:
        return None
    last = int(harmonics * speed_hz * (1.0 + tolerance) / bin_hz) + 2 * _FLOOR_BINS
    window = np.hanning(samples.size).astype(np.float32)
    lines = fft.rfft((samples - samples.mean()) * window)[:last]
    score = _likelihood(np.abs(lines) ** 2)
    step_hz = _STEP_BINS * bin_hz / harmonics
    grid_hz = np.arange(speed_hz * (1.0 - tolerance), speed_hz * (1.0 + tolerance), step_hz)
    total = np.zeros(grid_hz.size)
    for harmonic in range(1, harmonics + 1):
        total += np.interp(harmonic * grid_hz / bin_hz, np.arange(score.size), score)
    at = int(np.argmax(total))
    wanted = _NOISE_MEAN * harmonics + _CLEAR * _NOISE_SD * np.sqrt(harmonics)
    return float(grid_hz[at]) if total[at] > wanted else None


def _likelihood(power: Floats) -> Floats:
    """Give log(1 + P/N) of each bin, N by the median of its neighbours, capped: no line is all."""
    padded = np.pad(power, _FLOOR_BINS, mode="reflect")
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * _FLOOR_BINS + 1)
    floor = np.partition(windows, _FLOOR_BINS, axis=1)[:, _FLOOR_BINS] / np.log(2.0)
    capped: Floats = np.minimum(np.log1p(power / np.maximum(floor, 1e-30)), _CAP)
    return capped
