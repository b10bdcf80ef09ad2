"""Measures the rotation frequency anew in every step of a coast-down, each step by itself.

The coarse path, smoothed, takes the lines down to near zero frequency (`speed.demodulate`). What
is then left in a step is one small relative error of the path, the same for all lines, each with
an amplitude and phase of its own. Its chance, amplitudes and phases averaged over, is
exp Σ wₖ Pₖ(k ε)/Nₖ with Pₖ the periodogram of line k, Nₖ its noise and wₖ = r/(1 + r) for a line
r times as strong as the noise. Its peak is the measurement, its curvature the standard deviation;
a step whose chance is not gathered in one peak is left out. Nothing is carried from step to step,
so that lines may enter the band, and the errors of any two points are independent.

References
----------
Chance of a frequency with amplitude and phase averaged over: [BRETTHORST1988].
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from turnwell.sound.speed.demodulate import Baseband, baseband_of
from turnwell.sound.speed.sweep import Sweep

__all__ = ["FinePoints", "fine_points"]

Floats = NDArray[np.float64]

_STEP_S, _MOST_STEPS = 0.016, 160
_FEWEST_TURNS, _FEWEST_STEPS = 6, 8
_LINES = 6
_SETTLING_S, _FALLS = 0.01, 1.005
_SMOOTHED_OVER = 15
_REACH, _REACH_BINS = 0.02, 0.75
_GRID = 161
_PADDED = 4
_NOISE_BINS, _NOISE_QUANTILE = 12, 0.25
_LEAST_NOISE = 1e-8  # of the power of a line, where a recording is silent but for it
_POOLED = 4
_PEAK_SDS, _IN_PEAK = 4.0, 0.98
_LOST_STEPS = 8


@dataclass(frozen=True, slots=True, eq=False)
class FinePoints:
    """Rotation frequency in the steps of a coast-down.

    Parameters
    ----------
    time_s, rotation_hz, sd_hz : arrays, shape (n,)
        Middle of each step in the recording, frequency there, standard deviation; the errors of
        different points are independent.
    """

    time_s: Floats
    rotation_hz: Floats
    sd_hz: Floats

    def kept(self, which: NDArray[np.bool_]) -> "FinePoints":
        """Give some of the points."""
        return FinePoints(self.time_s[which], self.rotation_hz[which], self.sd_hz[which])


@dataclass(frozen=True, slots=True, eq=False)
class _Searched:
    """Periodograms of each step over the relative error of the path.

    Parameters
    ----------
    error : array, shape (steps, grid)
        Relative errors at which the power is given.
    power : array, shape (steps, lines, grid)
    noise : array, shape (steps, lines)
        Mean power where there is noise alone; 0 for a line outside the band.
    """

    error: Floats
    power: Floats
    noise: Floats


def fine_points(
    samples: NDArray[np.float32],
    rate_hz: float,
    coarse: Sweep,
    *,
    release_s: float,
    edge_hz: float,
) -> FinePoints | None:
    """Measure the speed along a coast-down; None when too little of it is heard.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    coarse : Sweep
        The path down, good to about 1 %.
    release_s : float
        Where the speed begins to fall, good to about 10 ms.
    edge_hz : float
        Highest frequency the recording holds.
    """
    # Where the coarse path no longer falls it rests at the lower end of its search.
    after = coarse.time_s > release_s + _SETTLING_S
    after &= coarse.rotation_hz > _FALLS * coarse.rotation_hz[-1]
    if np.count_nonzero(after) < _SMOOTHED_OVER:
        return None
    time_s, rotation_hz = coarse.time_s[after], coarse.rotation_hz[after]
    edge_s = _step_edges(time_s, rotation_hz)
    if edge_s.size <= _FEWEST_STEPS:
        return None
    # Straight within each step: what is left in a step is then one error and a little curvature.
    edge_speed_hz = _smoothed(time_s, rotation_hz, edge_s)
    lines = min(_LINES, int(edge_hz / edge_speed_hz.min()))
    orders = tuple(range(1, lines + 1))
    base = baseband_of(samples, rate_hz, edge_s, edge_speed_hz, orders, block_s=0.0)
    starts = np.searchsorted(base.time_s, edge_s[:-1])
    middle_s = base.grouped(starts).time_s
    path_hz = np.interp(middle_s, edge_s, edge_speed_hz)
    usable = np.outer(path_hz, base.orders) < edge_hz
    searched = _searched(base, starts, usable)
    error, sd, is_sure = _peaks(base, starts, searched)
    points = FinePoints(middle_s, path_hz * (1.0 + error), path_hz * sd)
    return _until_lost(points, is_sure)


def _step_edges(time_s: Floats, rotation_hz: Floats) -> Floats:
    """Give where steps begin and end: some time long, and at least some turns."""
    step_s = max(_STEP_S, float(np.ptp(time_s)) / _MOST_STEPS)
    gone = np.minimum(np.diff(time_s) / step_s, np.diff(time_s) * rotation_hz[1:] / _FEWEST_TURNS)
    steps = np.concatenate([[0.0], np.cumsum(gone)])
    return np.interp(np.arange(np.floor(steps[-1]) + 1.0), steps, time_s)


def _smoothed(time_s: Floats, values: Floats, at_s: Floats) -> Floats:
    """Lay a parabola through the neighbours of each instant, the near ones weighing more."""
    first = np.searchsorted(time_s, at_s) - _SMOOTHED_OVER // 2
    first = np.clip(first, 0, time_s.size - _SMOOTHED_OVER)
    near = first[:, None] + np.arange(_SMOOTHED_OVER)
    away = time_s[near] - at_s[:, None]
    away /= 1.001 * np.abs(away).max(axis=1, keepdims=True)
    weight = 1.0 - away**2
    powers = np.stack([np.ones_like(away), away, away**2], axis=2)
    normal = np.einsum("am,amp,amq->apq", weight, powers, powers)
    right = np.einsum("am,amp,am->ap", weight, powers, values[near])
    return np.asarray(np.linalg.solve(normal, right[:, :, None])[:, 0, 0], np.float64)


def _searched(base: Baseband, starts: NDArray[np.int64], usable: NDArray[np.bool_]) -> _Searched:
    """Search each step by a padded transform of its turns."""
    sums = base.lines * base.count
    orders = np.asarray(base.orders)
    rows = np.arange(orders.size)[:, None]
    turns = np.diff(starts, append=base.time_s.size)
    reach = np.minimum(np.maximum(_REACH, _REACH_BINS / turns), 0.45 / orders[-1])
    error = reach[:, None] * np.linspace(-1.0, 1.0, _GRID)
    power = np.empty((starts.size, orders.size, _GRID))
    around = np.empty((starts.size, orders.size, 4 * _NOISE_BINS + 1))
    for step, (begin, count) in enumerate(zip(starts, turns, strict=True)):
        size = _PADDED * (1 << (int(count) - 1).bit_length())
        spectrum = np.fft.fft(sums[:, begin : begin + count], size, axis=1)
        at = np.rint(np.outer(orders, error[step]) * size).astype(np.int64)
        power[step] = _squared(spectrum[rows, at])
        around[step] = _around(spectrum, size / count, int(count))
    # What a low quantile of noise alone would be; the line does not reach it.
    around.sort(axis=2)
    low = around[:, :, round(_NOISE_QUANTILE * 4 * _NOISE_BINS)]
    noise = np.maximum(low / -np.log1p(-_NOISE_QUANTILE), _LEAST_NOISE * power.max(axis=2))
    return _Searched(error, power, np.where(usable, noise, 0.0))


def _around(spectrum: NDArray[np.complex128], bin_width: float, turns: int) -> Floats:
    """Power about each line in a Hann window, whose sidelobes are low.

    The window is a difference of neighbouring bins; it takes 3/2 of the noise's power.
    """
    bins = min(_NOISE_BINS, 0.5 * turns)
    near = np.rint(np.linspace(-bins, bins, 4 * _NOISE_BINS + 1) * bin_width).astype(np.int64)
    size, aside = spectrum.shape[1], round(bin_width)
    both = spectrum[:, (near - aside) % size] + spectrum[:, (near + aside) % size]
    return _squared(spectrum[:, near % size] - 0.5 * both) / 1.5


def _squared(values: NDArray[np.complex128]) -> Floats:
    return np.asarray(values.real**2 + values.imag**2, np.float64)


def _peaks(
    base: Baseband, starts: NDArray[np.int64], searched: _Searched
) -> tuple[Floats, Floats, NDArray[np.bool_]]:
    """Give the most likely error of each step, its standard deviation, and whether it is alone."""
    heard = searched.noise > 0.0
    noise = np.where(heard, _pooled(searched.noise, heard), np.inf)
    scaled = searched.power / np.maximum(noise, 1e-30)[:, :, None]
    rows = np.arange(starts.size)
    strongest = np.argmax(scaled.sum(axis=1), axis=1)
    strength = np.maximum(_pooled(scaled[rows, :, strongest], heard) - 1.0, 0.0)
    weight = strength / (1.0 + strength) / noise
    height = np.einsum("slg,sl->sg", searched.power, weight)
    error = searched.error[rows, np.argmax(height, axis=1)]
    turns = np.diff(starts, append=base.time_s.size)
    highest = np.max(np.where(heard, base.orders, 1.0), axis=1)
    apart = 1.0 / (8.0 * highest * turns)
    for _ in range(2):
        low, top, high = (
            np.sum(weight * _powers(base, starts, error + move * apart), axis=1)
            for move in (-1.0, 0.0, 1.0)
        )
        curvature = np.maximum(2.0 * top - low - high, 1e-9)
        error = error + apart * np.clip(0.5 * (high - low) / curvature, -1.0, 1.0)
    sd = apart / np.sqrt(curvature)
    chance = np.exp(height - height.max(axis=1, keepdims=True))
    wide = np.maximum(_PEAK_SDS * sd, 2.0 * apart)
    inside = np.abs(searched.error - error[:, None]) <= wide[:, None]
    share = np.sum(chance * inside, axis=1) / np.sum(chance, axis=1)
    is_sure = (share > _IN_PEAK) & (np.abs(error) + 2.0 * sd < searched.error[:, -1])
    return error, sd, is_sure


def _powers(base: Baseband, starts: NDArray[np.int64], error: Floats) -> Floats:
    """Power of each line in each step, shape (steps, lines), if the path is wrong by this."""
    size = np.diff(starts, append=base.time_s.size)
    turn = np.arange(base.time_s.size) - np.repeat(starts, size)
    back = np.exp(-2j * np.pi * turn * np.repeat(error, size))
    product, turned = base.lines * base.count, np.ones_like(back)
    for row in range(len(base.orders)):  # the orders are 1, 2, 3 and so on
        turned = turned * back
        product[row] *= turned
    return _squared(np.add.reduceat(product, starts, axis=1).T)


def _pooled(values: Floats, heard: NDArray[np.bool_]) -> Floats:
    """Mean of each line over neighbouring steps in which it is heard."""
    kernel = np.ones(2 * _POOLED + 1)
    mean = np.empty_like(values)
    for line in range(values.shape[1]):
        total = np.convolve(np.where(heard[:, line], values[:, line], 0.0), kernel)
        count = np.convolve(heard[:, line], kernel)
        mean[:, line] = (total / np.maximum(count, 1.0))[_POOLED:-_POOLED]
    return mean


def _until_lost(points: FinePoints, is_sure: NDArray[np.bool_]) -> FinePoints | None:
    """Leave out what is not sure, and end the track where several steps in a row tell nothing."""
    silent = np.convolve(~is_sure, np.ones(_LOST_STEPS), mode="valid") > _LOST_STEPS - 0.5
    end = int(np.argmax(silent)) if np.any(silent) else is_sure.size
    kept = points.kept(is_sure & (np.arange(is_sure.size) < end))
    return kept if kept.time_s.size >= _FEWEST_STEPS else None
