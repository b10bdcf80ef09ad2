"""Short spectra over time with the noise floor beneath the lines.

A line is judged by L = log(1 + P/N): P the power in a bin, N the noise floor at that time and
frequency. In noise alone P/N is exponential with mean 1, so the mean of L is 0.596 whatever the
level; a line at 10 dB above the floor has L = 2.4.

References
----------
The floor is the 40 % quantile of a band of bins, which lines fill only in part, scaled by the
quantile of an exponential variable, -log(1 - 0.4) = 0.511.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

__all__ = ["Spectra", "likelihoods", "spectra_of"]

Floats = NDArray[np.float32]

_QUANTILE = 0.4
_QUANTILE_OF_NOISE = float(-np.log(1.0 - _QUANTILE))
_FRAMES_AT_ONCE = 64
# The floor under a line never goes below this part of the strongest bin of the same frame, so that
# sidelobes and rounding do not count as lines.
_DEEPEST = 1e-7
_CAP = 16.0
# Sidelobes of the Hann window from three bins on: below -35 dB, from six on below -58 dB.
_SIDELOBES = ((np.float32(3e-4), (3, 4, 5)), (np.float32(2e-6), (6, 7, 8)))


@dataclass(frozen=True, slots=True, eq=False)
class Spectra:
    """Power in bins of frequency (columns) over time (rows).

    Parameters
    ----------
    power : array of float32, shape (frames, bins)
        Hann-windowed power.
    floor : array of float32, shape (frames, bins)
        Noise floor in the same unit, > 0.
    time_s : array of float64, shape (frames,)
        Middle of each frame.
    bin_hz, hop_s, window_s : float
        Spacing of bins and frames, and length of a frame.
    """

    power: Floats
    floor: Floats
    time_s: NDArray[np.float64]
    bin_hz: float
    hop_s: float
    window_s: float

    @property
    def highest_hz(self) -> float:
        """Frequency of the last bin."""
        return float((self.power.shape[1] - 1) * self.bin_hz)


def spectra_of(
    samples: Floats,
    rate_hz: float,
    *,
    window_s: float,
    hop_s: float,
    highest_hz: float,
    start_s: float = 0.0,
    stop_s: float | None = None,
) -> Spectra:
    """Give the short spectra of a stretch of a recording.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz, window_s, hop_s, highest_hz : float
        `highest_hz` is cut to just below half the rate.
    start_s, stop_s : float
        Stretch to look at; frames lie wholly inside the recording.
    """
    size = fft.next_fast_len(max(round(window_s * rate_hz), 16), real=True)
    hop = max(round(hop_s * rate_hz), 1)
    first = max(round(start_s * rate_hz) - size // 2, 0)
    last = (
        samples.size if stop_s is None else min(round(stop_s * rate_hz) + size // 2, samples.size)
    )
    bins = min(int(highest_hz / rate_hz * size) + 1, int(0.49 * size))
    frames = (
        np.lib.stride_tricks.sliding_window_view(samples[first:last], size)[::hop]
        if (last - first >= size)
        else np.empty((0, size), np.float32)
    )
    window = np.hanning(size + 1)[:-1].astype(np.float32)
    power = np.empty((len(frames), bins), np.float32)
    for begin in range(0, len(frames), _FRAMES_AT_ONCE):
        part = slice(begin, begin + _FRAMES_AT_ONCE)
        lines = fft.rfft(frames[part] * window, axis=1)[:, :bins]
        power[part] = lines.real**2 + lines.imag**2
    time_s = (first + hop * np.arange(len(frames)) + size / 2.0) / rate_hz
    bin_hz = rate_hz / size
    return Spectra(power, _floor(power, bin_hz), time_s, bin_hz, hop / rate_hz, size / rate_hz)


def likelihoods(spectra: Spectra, edge_hz: float) -> Floats:
    """Give L = log(1 + P/N) of every bin, zero above the edge of the codec."""
    floor = np.maximum(spectra.floor, _leaked(spectra.power))
    ratio = np.asarray(spectra.power / floor, np.float32)
    np.log1p(ratio, out=ratio)
    np.minimum(ratio, _CAP, out=ratio)
    ratio[:, int(edge_hz / spectra.bin_hz) :] = 0.0
    ratio[:, :3] = 0.0
    return ratio


def _leaked(power: Floats) -> Floats:
    """Bound what the sidelobes of the window carry from stronger bins nearby."""
    leaked = np.zeros_like(power)
    for share, distances in _SIDELOBES:
        for distance in distances:
            np.maximum(leaked[:, distance:], share * power[:, :-distance], out=leaked[:, distance:])
            np.maximum(
                leaked[:, :-distance], share * power[:, distance:], out=leaked[:, :-distance]
            )
    return leaked


def _floor(power: Floats, bin_hz: float) -> Floats:
    """Noise floor of every bin: band quantiles, smoothed over time, drawn through the bands."""
    frames, bins = power.shape
    if frames == 0 or bins < 16:
        return np.ones_like(power)
    centres, levels = [], []
    for begin, width in _bands(bins, bin_hz):
        band = power[:, begin : begin + width]
        rank = int(_QUANTILE * (band.shape[1] - 1))
        levels.append(np.partition(band, rank, axis=1)[:, rank])
        centres.append(begin + band.shape[1] / 2.0)
    level = np.log(np.stack(levels, axis=1) / np.float32(_QUANTILE_OF_NOISE) + np.float32(1e-30))
    floor = np.exp(_smoothed(level) @ _interpolation(np.array(centres), bins))
    deepest = _DEEPEST * power.max(axis=1, keepdims=True) + np.float32(1e-20)
    return np.asarray(np.maximum(floor, deepest), np.float32)


def _bands(bins: int, bin_hz: float) -> list[tuple[int, int]]:
    """First bin and width of each band: half overlapping, narrower at the loud low end."""
    bands, begin = [], 2
    while begin < bins - 12:
        width = max(24, round((180.0 if begin * bin_hz < 1_000.0 else 500.0) / bin_hz))
        bands.append((begin, min(width, bins - begin)))
        begin += width // 2
    return bands


def _smoothed(level: Floats) -> Floats:
    """Mean over five neighbouring frames, fewer at the ends."""
    frames = len(level)
    total = np.concatenate([np.zeros((1, level.shape[1]), np.float64), np.cumsum(level, axis=0)])
    low = np.maximum(np.arange(frames) - 2, 0)
    high = np.minimum(np.arange(frames) + 3, frames)
    mean: Floats = ((total[high] - total[low]) / (high - low)[:, None]).astype(np.float32)
    return mean


def _interpolation(centres: NDArray[np.float64], bins: int) -> Floats:
    """Matrix that draws straight lines between band centres, flat outside them."""
    at = np.interp(np.arange(bins), centres, np.arange(len(centres)))
    left = np.minimum(at.astype(int), max(len(centres) - 2, 0))
    share = (at - left).astype(np.float32)
    matrix = np.zeros((len(centres), bins), np.float32)
    matrix[left, np.arange(bins)] = 1.0 - share
    if len(centres) > 1:
        matrix[left + 1, np.arange(bins)] += share
    return matrix
