"""Short spectra over time with the noise floor beneath the lines.

A line is judged by L = log(1 + P/N): P the power in a bin, N the noise floor at that time and
frequency. In noise alone P/N is exponential with mean 1, so the mean of L is 0.596 whatever the
level; a line at 10 dB above the floor has L = 2.4.

References
----------
The floor is the 40 % quantile of a band of bins, which lines fill only in part, scaled by the
quantile of an exponential variable, -log(1 - 0.4) = 0.511.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

__all__ = ["Bands", "Spectra", "likelihoods", "spectra_of"]

Floats = NDArray[np.float32]

_QUANTILE = 0.4
_QUANTILE_OF_NOISE = float(-np.log(1.0 - _QUANTILE))
_FRAMES_AT_ONCE = 64
_ROWS_AT_ONCE = 1_024  # what is drawn from the spectra of an hour is drawn bit by bit
_MOST_KEPT = 1 << 24  # values of power, 64 MB: six minutes at 48 kHz
# The floor under a line never goes below this part of the strongest bin of the same frame, so that
# sidelobes and rounding do not count as lines.
_DEEPEST = 1e-7
_CAP = 16.0
# Sidelobes of the Hann window from three bins on: below -35 dB, from six on below -58 dB.
_NEAR_LOBES, _FAR_LOBES = np.float32(3e-4), np.float32(2e-6)


@dataclass(frozen=True, slots=True, eq=False)
class Spectra:
    """Power in bins of frequency (columns) over time (rows).

    The power of a long recording is not kept but worked out again where it is asked for: that takes
    less time than all else that is done with it, and it would be as large as the samples.

    Parameters
    ----------
    frames : array of float32, shape (frames, size)
        The sound of each frame, a view of the samples.
    window : array of float32, shape (size,)
        Hann window.
    bins : int
    kept : array of float32, shape (frames, bins), or None
        The power, where it is small.
    bands : Bands
        Noise floor of bands of bins, from which that of every bin is drawn.
    loudest : array of float32, shape (frames,)
        Largest power of each frame.
    time_s : array of float64, shape (frames,)
        Middle of each frame.
    bin_hz, hop_s, window_s : float
        Spacing of bins and frames, and length of a frame.
    """

    frames: Floats
    window: Floats
    bins: int
    kept: Floats | None
    bands: "Bands"
    loudest: Floats
    time_s: NDArray[np.float64]
    bin_hz: float
    hop_s: float
    window_s: float

    @property
    def highest_hz(self) -> float:
        """Frequency of the last bin."""
        return float((self.bins - 1) * self.bin_hz)

    @property
    def power(self) -> Floats:
        """Hann-windowed power of all frames."""
        return self.power_of(slice(None))

    @property
    def floor(self) -> Floats:
        """Noise floor in the unit of the power, > 0, as large as the power itself."""
        return self.bands.floor_of(slice(None))

    def power_of(self, rows: slice | NDArray[np.int64]) -> Floats:
        """Give the Hann-windowed power of some frames, shape (rows, bins)."""
        if self.kept is not None:
            return self.kept[rows]
        return _powers(self.frames[rows], self.window, self.bins)

    def parts(self) -> Iterator[slice]:
        """Yield the rows some at a time."""
        for begin in range(0, len(self.time_s), _ROWS_AT_ONCE):
            yield slice(begin, begin + _ROWS_AT_ONCE)


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Noise floor of bands: a fiftieth of the memory that the floor of every bin would take.

    Parameters
    ----------
    level : array of float32, shape (frames, bands)
        Logarithm of the floor in the middle of each band.
    between : array of float32, shape (bands, bins)
        Weights that draw straight lines between the middles.
    deepest : array of float32, shape (frames, 1)
        Below this the floor never goes.
    """

    level: Floats
    between: Floats
    deepest: Floats

    def floor_of(self, rows: slice) -> Floats:
        """Give the noise floor of every bin in some of the frames."""
        floor = self.level[rows] @ self.between
        np.exp(floor, out=floor)
        np.maximum(floor, self.deepest[rows], out=floor)
        return floor


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
    count = len(frames)
    kept = np.empty((count, bins), np.float32) if count * bins <= _MOST_KEPT else None
    bands, loudest = _Quantiles(bins, rate_hz / size), np.empty(count, np.float32)
    for begin in range(0, count, _ROWS_AT_ONCE):
        rows = slice(begin, begin + _ROWS_AT_ONCE)
        power = _powers(frames[rows], window, bins)
        loudest[rows] = power.max(axis=1)
        bands.add(power)
        if kept is not None:
            kept[rows] = power
    return Spectra(
        frames=frames,
        window=window,
        bins=bins,
        kept=kept,
        bands=bands.over_time(loudest),
        loudest=loudest,
        time_s=(first + hop * np.arange(count) + size / 2.0) / rate_hz,
        bin_hz=rate_hz / size,
        hop_s=hop / rate_hz,
        window_s=size / rate_hz,
    )


def _powers(frames: Floats, window: Floats, bins: int) -> Floats:
    power = np.empty((len(frames), bins), np.float32)
    for begin in range(0, len(frames), _FRAMES_AT_ONCE):
        part = slice(begin, begin + _FRAMES_AT_ONCE)
        lines = fft.rfft(frames[part] * window, axis=1)[:, :bins]
        power[part] = lines.real**2 + lines.imag**2
    return power


def likelihoods(spectra: Spectra, edge_hz: float) -> Floats:
    """Give L = log(1 + P/N) of every bin, zero above the edge of the codec."""
    ratio = np.empty((len(spectra.time_s), spectra.bins), np.float32)
    for rows in spectra.parts():
        power, part = spectra.power_of(rows), ratio[rows]
        floor = spectra.bands.floor_of(rows)
        np.maximum(floor, _leaked(power), out=floor)
        np.divide(power, floor, out=part)
        np.log1p(part, out=part)
        np.minimum(part, _CAP, out=part)
    ratio[:, int(edge_hz / spectra.bin_hz) :] = 0.0
    ratio[:, :3] = 0.0
    return ratio


def _leaked(power: Floats) -> Floats:
    """Bound what the sidelobes of the window carry from stronger bins nearby."""
    bins = power.shape[1]
    # Bin j stands at j + 8; what lies beyond the ends is silent.
    padded = np.zeros((len(power), bins + 16), np.float32)
    padded[:, 8:-8] = power
    of_three = np.maximum(padded[:, :-2], padded[:, 1:-1])
    np.maximum(of_three, padded[:, 2:], out=of_three)

    def strongest(below: int, above: int) -> Floats:
        return np.maximum(of_three[:, below : below + bins], of_three[:, above : above + bins])

    near, far = strongest(3, 11), strongest(0, 14)  # three to five bins away, six to eight
    near *= _NEAR_LOBES
    far *= _FAR_LOBES
    return np.maximum(near, far, out=near)


class _Quantiles:
    """Gathers the quantiles of bands of bins, frame by frame, into the noise floor."""

    def __init__(self, bins: int, bin_hz: float) -> None:
        self.bins = bins
        self.bands = _bands(bins, bin_hz)
        self.levels: list[Floats] = []

    def add(self, power: Floats) -> None:
        """Add the next frames."""
        levels = np.empty((len(power), len(self.bands)), np.float32)
        for column, (begin, width) in enumerate(self.bands):
            rank = int(_QUANTILE * (width - 1))
            band = power[:, begin : begin + width]
            levels[:, column] = np.partition(band, rank, axis=1)[:, rank]
        self.levels.append(levels)

    def over_time(self, loudest: Floats) -> Bands:
        """Give the floor, smoothed over time."""
        if not self.levels or not self.bands:
            one = np.ones((loudest.size, 1), np.float32)
            return Bands(0.0 * one, np.ones((1, self.bins), np.float32), one)
        level = np.concatenate(self.levels)
        level = np.log(level / np.float32(_QUANTILE_OF_NOISE) + np.float32(1e-30))
        centres = np.array([begin + width / 2.0 for begin, width in self.bands])
        deepest = np.float32(_DEEPEST) * loudest[:, None] + np.float32(1e-20)
        return Bands(_smoothed(level), _interpolation(centres, self.bins), deepest)


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
