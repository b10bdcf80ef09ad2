"""Measures the rotation frequency anew in every step of a coast-down, each step by itself.

The coarse path, smoothed, takes the lines down to near zero frequency (`turns`). What
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

from turnwell.sound.coast.turns import turn_by_turn
from turnwell.sound.speed.demodulate import Baseband
from turnwell.sound.speed.sweep import Sweep

__all__ = ["FinePoints", "fine_points"]

Floats = NDArray[np.float64]

_STEP_S, _MOST_STEPS = 0.016, 120
_FEWEST_TURNS, _FEWEST_STEPS = 6, 8
_LINES = 6
_SETTLING_S, _FALLS = 0.01, 1.005
_SMOOTHED_OVER, _FOUND_OVER = 15, 7
_REACH, _REACH_BINS = 0.02, 0.75
_GRID = 161
_PADDED = 4
_NOISE_BINS, _NOISE_QUANTILE = 12, 0.25
_ACROSS = np.linspace(-1.0, 1.0, 4 * _NOISE_BINS + 1)
_LEAST_NOISE = 1e-8  # of the power of a line, where a recording is silent but for it
_POOLED = 4
_PEAK_SDS, _IN_PEAK = 4.0, 0.98
_STRONG = 20.0  # chance of it in noise: some 1e-7
_LOST_STEPS = 8
_NEXT, _RISES = 3, 1.005


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
class _Peak:
    """Most likely relative error of the path in each step, and its standard deviation.

    `is_sure` where the chance is gathered in one peak, `is_strong` where the peak is far above what
    noise alone gives, be it smeared or not.
    """

    error: Floats
    sd: Floats
    is_sure: NDArray[np.bool_]
    is_strong: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """What each step gave."""

    points: FinePoints
    is_sure: NDArray[np.bool_]
    is_strong: NDArray[np.bool_]


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
    coarse = _falling(coarse, release_s)
    time_s, rotation_hz = coarse.time_s, coarse.rotation_hz
    if time_s.size < _SMOOTHED_OVER:
        return None
    edge_s = _step_edges(time_s, rotation_hz)
    if edge_s.size <= _FEWEST_STEPS:
        return None
    # Straight within each step: what is left in a step is then one error and a little curvature.
    path_hz = _smoothed(time_s, rotation_hz, edge_s, over=_SMOOTHED_OVER)
    lines = min(_LINES, int(edge_hz / path_hz.min()))
    base = turn_by_turn(samples, rate_hz, edge_s, path_hz, lines) if lines else None
    if base is None:
        return None
    first = _measured(base, edge_s, path_hz, edge_hz)
    # Where the path bends within a step its lines are smeared: once more, along what was found.
    better_hz = _along(first, edge_s, path_hz)
    ahead_hz = np.interp(base.time_s, edge_s, better_hz - path_hz)
    gained = 0.5 * (ahead_hz[1:] + ahead_hz[:-1]) * np.diff(base.time_s)
    base = base.moved(np.concatenate([[0.0], np.cumsum(gained)]))
    second = _measured(base, edge_s, better_hz, edge_hz)
    return _until_lost(_at_middle(second.points, edge_s, better_hz), second.is_sure)


def _falling(coarse: Sweep, release_s: float) -> Sweep:
    """Give the part of a coarse path in which the shaft falls.

    Where it no longer falls it rests at the lower end of its search; that it rises from there again
    for a moment tells nothing, and would leave a hole to be bridged.
    """
    after = coarse.time_s > release_s + _SETTLING_S
    time_s, rotation_hz = coarse.time_s[after], coarse.rotation_hz[after]
    rests = rotation_hz <= _FALLS * coarse.rotation_hz[-1]
    end = int(np.argmax(rests)) if np.any(rests) else rests.size
    return Sweep(time_s[:end], rotation_hz[:end])


def _measured(base: Baseband, edge_s: Floats, path_hz: Floats, edge_hz: float) -> _Found:
    """Measure every step along a path that is straight between the steps' edges."""
    starts = np.searchsorted(base.time_s, edge_s[:-1])
    middle_s = base.grouped(starts).time_s
    middle_hz = np.interp(middle_s, edge_s, path_hz)
    searched = _searched(base, starts, np.outer(middle_hz, base.orders) < edge_hz)
    peak = _peaks(base, starts, searched)
    points = FinePoints(middle_s, middle_hz * (1.0 + peak.error), middle_hz * peak.sd)
    return _Found(points, peak.is_sure, peak.is_strong)


def _at_middle(points: FinePoints, edge_s: Floats, path_hz: Floats) -> FinePoints:
    """Take off what the bend of the path adds to the frequency of a step over that of its middle.

    A step's frequency is the slope of its phase by least squares, a mean with weights 6 u (1 - u).
    """
    bend = np.gradient(np.gradient(path_hz, edge_s), edge_s)
    added = 0.5 * (bend[1:] + bend[:-1]) * np.diff(edge_s) ** 2 / 40.0
    return FinePoints(points.time_s, points.rotation_hz - added, points.sd_hz)


def _along(found: _Found, edge_s: Floats, path_hz: Floats) -> Floats:
    """Give the path through what was found, and the old one where nothing was."""
    points = found.points.kept(found.is_strong)
    if points.time_s.size < _FOUND_OVER:
        return path_hz
    better_hz = _smoothed(points.time_s, points.rotation_hz, edge_s, over=_FOUND_OVER)
    step_s = np.diff(edge_s, append=2.0 * edge_s[-1] - edge_s[-2])
    right = np.clip(np.searchsorted(points.time_s, edge_s), 1, points.time_s.size - 1)
    away_s = np.minimum(
        np.abs(edge_s - points.time_s[right - 1]), np.abs(points.time_s[right] - edge_s)
    )
    return np.where(away_s < step_s, better_hz, path_hz)


def _step_edges(time_s: Floats, rotation_hz: Floats) -> Floats:
    """Give where steps begin and end: some time long, and at least some turns."""
    step_s = max(_STEP_S, float(np.ptp(time_s)) / _MOST_STEPS)
    gone = np.minimum(np.diff(time_s) / step_s, np.diff(time_s) * rotation_hz[1:] / _FEWEST_TURNS)
    steps = np.concatenate([[0.0], np.cumsum(gone)])
    return np.interp(np.linspace(0.0, steps[-1], int(steps[-1]) + 1), steps, time_s)


def _smoothed(time_s: Floats, values: Floats, at_s: Floats, *, over: int) -> Floats:
    """Lay a parabola through the neighbours of each instant, the near ones weighing more."""
    first = np.clip(np.searchsorted(time_s, at_s) - over // 2, 0, time_s.size - over)
    near = first[:, None] + np.arange(over)
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
    near = np.rint(_ACROSS * (bins * bin_width)).astype(np.int64)
    size, aside = spectrum.shape[1], round(bin_width)
    both = spectrum[:, (near - aside) % size] + spectrum[:, (near + aside) % size]
    return _squared(spectrum[:, near % size] - 0.5 * both) / 1.5


def _squared(values: NDArray[np.complex128]) -> Floats:
    return np.asarray(values.real**2 + values.imag**2, np.float64)


def _peaks(base: Baseband, starts: NDArray[np.int64], searched: _Searched) -> _Peak:
    """Give the most likely error of each step."""
    heard = searched.noise > 0.0
    noise = np.where(heard, _pooled(searched.noise, heard), np.inf)
    scaled = searched.power / np.maximum(noise, 1e-30)[:, :, None]
    rows = np.arange(starts.size)
    strongest = np.argmax(scaled.sum(axis=1), axis=1)
    strength = np.maximum(_pooled(scaled[rows, :, strongest], heard) - 1.0, 0.0)
    weight = strength / (1.0 + strength) / noise
    height = np.einsum("slg,sl->sg", searched.power, weight)
    place = np.argmax(height, axis=1)
    error = searched.error[rows, place]
    # Order of the lines that tell most; a peak is as wide as theirs.
    telling = weight * searched.power[rows, :, place] + 1e-30
    order = np.sqrt(telling @ np.square(base.orders) / telling.sum(axis=1))
    turns = np.diff(starts, append=base.time_s.size)
    apart = 1.0 / (8.0 * order * turns)
    for _ in range(2):
        low, top, high = (
            np.sum(weight * _powers(base, starts, error + move * apart), axis=1)
            for move in (-1.0, 0.0, 1.0)
        )
        curvature = np.maximum(2.0 * top - low - high, 1e-9)
        error = error + apart * np.clip(0.5 * (high - low) / curvature, -1.0, 1.0)
    sd = apart / np.sqrt(curvature)
    chance = np.exp(height - height.max(axis=1, keepdims=True))
    wide = np.maximum(_PEAK_SDS * sd, 4.0 * apart)
    inside = np.abs(searched.error - error[:, None]) <= wide[:, None]
    share = np.sum(chance * inside, axis=1) / np.sum(chance, axis=1)
    is_sure = (share > _IN_PEAK) & (np.abs(error) + 2.0 * sd < searched.error[:, -1])
    return _Peak(error, sd, is_sure, height.max(axis=1) > _STRONG)


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
    """Leave out what is not sure, and end the track where it is lost or would speed up."""
    silent = np.convolve(~is_sure, np.ones(_LOST_STEPS), mode="valid") > _LOST_STEPS - 0.5
    end = int(np.argmax(silent)) if np.any(silent) else is_sure.size
    kept = points.kept(is_sure & (np.arange(is_sure.size) < end))
    kept = kept.kept(np.arange(kept.time_s.size) < _rising_from(kept))
    return kept if kept.time_s.size >= _FEWEST_STEPS else None


def _rising_from(points: FinePoints) -> int:
    """Give the place from which all of the next points lie above the middle of the last ones.

    No coasting shaft speeds up: what follows is another tone, or other lines of this one.
    """
    count = points.time_s.size
    if count <= _NEXT:
        return count
    low_hz = np.append(points.rotation_hz - 4.0 * points.sd_hz, np.full(_NEXT - 1, np.inf))
    after = np.lib.stride_tricks.sliding_window_view(low_hz, _NEXT).min(axis=1)
    before = np.lib.stride_tricks.sliding_window_view(points.rotation_hz, _NEXT)
    rises = after[_NEXT:] > _RISES * np.median(before, axis=1)[:-1]
    end = _NEXT + int(np.argmax(rises)) if np.any(rises) else count
    # Nothing after the last points says whether they strayed: there each has to fall.
    falls = np.flatnonzero(low_hz[1:end] < points.rotation_hz[: end - 1])
    return int(falls[-1]) + 2 if falls.size else 1
