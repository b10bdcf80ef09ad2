"""Noise between the rotation lines of a coast-down, spectrum by spectrum, and that of the room.

While the air is off there is no jet, so what lies between the lines is the handpiece or the room.
Spectra last a fixed number of turns, so that lines stay equally far apart whatever the speed; the
window's sidelobes carry nothing of a line into the bands between.

References
----------
Window, four terms, sidelobes below -92 dB: [HARRIS1978], table 1.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from turnwell.sound.speed.turning import Turning

__all__ = ["HIGHEST_ORDER", "HIGHEST_SHARE", "LOWEST_SHARE", "CoastNoise", "Room", "coast_noise"]

Floats = NDArray[np.float64]

# Between line 1 and line 3, clear of line 2. Own choice: a phone's coding passes all of it from
# 80 % of full speed down, and rooms are quiet there.
_BANDS = ((1.3, 1.7), (2.3, 2.7))
HIGHEST_ORDER = _BANDS[-1][1]
# Shares of the free speed: the air has left the hose at the upper one; at the lower one the shaft
# of most handpieces still outdoes the room.
HIGHEST_SHARE, LOWEST_SHARE = 0.8, 0.4
_BINS = 14
_TURNS = 18.0
_LINE_HALF = 0.28
_WINDOW = (0.35875, -0.48829, 0.14128, -0.01168)
_LEAST_DEGREES = 8.0
_ROOM_WINDOW_S = 0.008
_MOST_ROOM_SPECTRA = 600
_ROOM_PIECES = 24
_LEAST_ROOM_PIECES = 4
_ONSET = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class CoastNoise:
    """Noise between the lines and the power of line 1, mean over equal steps of log speed.

    Parameters
    ----------
    noise, noise_sd : float
        Power in one order, mean over the bands; what the room adds is still in it.
    line, line_sd : float
        Power of line 1.
    degrees : float
        Degrees of freedom of both standard deviations.
    rotation_hz : array, shape (bins,)
        Middle of each step.
    duration_s : float
        From the first step to the last.
    """

    noise: float
    noise_sd: float
    line: float
    line_sd: float
    degrees: float
    rotation_hz: Floats
    duration_s: float


def coast_noise(
    samples: NDArray[np.float32], rate_hz: float, turning: Turning, *, free_hz: float
) -> CoastNoise | None:
    """Give what is heard between the lines of one coast-down; None when it does not reach down.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz : float
    turning : Turning
        A coast-down.
    free_hz : float
        Free-running rotation frequency of the shaft.
    """
    edges_hz = free_hz * np.geomspace(HIGHEST_SHARE, LOWEST_SHARE, _BINS + 1)
    speed_hz = np.minimum.accumulate(turning.rotation_hz)
    if speed_hz[0] < edges_hz[0] or speed_hz[-1] > edges_hz[-1]:
        return None
    edges_s = np.interp(-edges_hz, -speed_hz, turning.time_s)
    middle_hz = np.sqrt(edges_hz[1:] * edges_hz[:-1])
    noises: list[Floats] = []
    lines: list[Floats] = []
    for number in range(_BINS):
        size = round(_TURNS * rate_hz / middle_hz[number])
        frames, time_s = _frames(samples, rate_hz, size, edges_s[number], edges_s[number + 1])
        if len(frames) == 0:
            return None
        rotation_hz = np.interp(time_s, turning.time_s, speed_hz)
        noise, line = _split(_density(frames, rate_hz), rate_hz / size, rotation_hz)
        noises.append(noise)
        lines.append(line)
    degrees = float(sum(part.size - 1 for part in noises))
    if degrees < _LEAST_DEGREES:
        return None
    noise_mean, noise_sd = _mean_of_steps(noises, degrees)
    line_mean, line_sd = _mean_of_steps(lines, degrees)
    return CoastNoise(
        noise=noise_mean,
        noise_sd=noise_sd,
        line=line_mean,
        line_sd=line_sd,
        degrees=degrees,
        rotation_hz=middle_hz,
        duration_s=float(edges_s[-1] - edges_s[0]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """Spectra of the room while nothing turns.

    Parameters
    ----------
    density : array, shape (pieces, bins)
        Mean power density of each piece of time.
    bin_hz : float
    piece_s : float
        Sound in a piece.
    """

    density: Floats
    bin_hz: float
    piece_s: float

    @classmethod
    def heard(
        cls,
        samples: NDArray[np.float32],
        rate_hz: float,
        quiet: Iterable[tuple[float, float]],
    ) -> "Room | None":
        """Listen to the room in stretches from one instant to another, in s; None when too short.

        Of long stretches spectra evenly spread are taken.
        """
        size = round(_ROOM_WINDOW_S * rate_hz)
        starts = [
            np.arange(round(from_s * rate_hz), round(to_s * rate_hz) - size, size // 2)
            for from_s, to_s in quiet
        ]
        start = np.concatenate([np.empty(0, np.int64), *starts]).astype(np.int64)
        start = start[(start >= 0) & (start + size <= samples.size)]
        start = start[:: max(-(-start.size // _MOST_ROOM_SPECTRA), 1)]
        pieces = min(_ROOM_PIECES, start.size // 8)
        if pieces < _LEAST_ROOM_PIECES:
            return None
        density = _density(_taken(samples, start, size), rate_hz)
        parts = [part.mean(axis=0) for part in np.array_split(density, pieces)]
        return cls(np.stack(parts), rate_hz / size, start.size / pieces * 0.5 * size / rate_hz)

    def noise(self, coast: CoastNoise) -> tuple[float, float]:
        """Give the power the room adds between the lines of a coast-down, and its uncertainty.

        The room during the coast-down is one more draw of its pieces, not their mean.
        """
        frequency_hz = self.bin_hz * np.arange(self.density.shape[1])
        weight = np.zeros(frequency_hz.size)
        for rotation_hz in coast.rotation_hz:
            inside = _between(frequency_hz / rotation_hz)
            weight += inside * (rotation_hz / max(np.count_nonzero(inside), 1))
        pieces = _without_onsets(self.density @ weight / coast.rotation_hz.size)
        drawn = max(coast.duration_s / self.piece_s, 1.0)
        spread = float(np.std(pieces, ddof=1)) * np.sqrt(1.0 / pieces.size + 1.0 / drawn)
        return float(pieces.mean()), float(spread)


def _without_onsets(pieces: Floats) -> Floats:
    """Leave out the few pieces that are far louder than most.

    Air flows before a run-up is heard, and a word falls into the silence; neither is the room.
    Where more than a quarter is loud the room itself is unsteady, and all pieces stay.
    """
    usual = pieces <= _ONSET * np.median(pieces)
    kept = pieces[usual]
    return kept if kept.size >= 0.75 * pieces.size else pieces


def _between(order: Floats) -> NDArray[np.bool_]:
    """Tell which orders lie between the lines."""
    inside = np.zeros(order.shape, bool)
    for low, high in _BANDS:
        inside |= (order >= low) & (order <= high)
    return inside


def _split(density: Floats, bin_hz: float, rotation_hz: Floats) -> tuple[Floats, Floats]:
    """Noise in one order and power of line 1, one value a spectrum."""
    order = bin_hz * np.arange(density.shape[1]) / rotation_hz[:, None]
    inside = _between(order)
    level = np.sum(density * inside, axis=1) / np.maximum(inside.sum(axis=1), 1)
    near = np.abs(order - 1.0) < _LINE_HALF
    line = bin_hz * np.sum(np.where(near, density - level[:, None], 0.0), axis=1)
    return level * rotation_hz, line


def _mean_of_steps(steps: list[Floats], degrees: float) -> tuple[float, float]:
    """Mean over steps and its standard deviation.

    The power of every spectrum strays by the same share of its step's mean, which all steps
    together tell. Spectra that overlap by half under this window are independent.
    """
    means = np.array([step.mean() for step in steps])
    counts = np.array([step.size for step in steps], np.float64)
    square = np.maximum(means**2, 1e-60)
    strays = [np.sum((step - mean) ** 2) for step, mean in zip(steps, means, strict=True)]
    share = float(np.sum(strays / square)) / degrees
    return float(means.mean()), float(np.sqrt(share * np.sum(means**2 / counts))) / means.size


def _frames(
    samples: NDArray[np.float32], rate_hz: float, size: int, from_s: float, to_s: float
) -> tuple[NDArray[np.float32], Floats]:
    """Stretches whose middles lie between two instants, half overlapping; at least one."""
    first, last = round(from_s * rate_hz) - size // 2, round(to_s * rate_hz) - size // 2
    start = np.arange(first, max(last, first + 1), max(size // 2, 1))
    start = start[(start >= 0) & (start + size <= samples.size)]
    return _taken(samples, start, size), np.asarray((start + size / 2.0) / rate_hz, np.float64)


def _taken(
    samples: NDArray[np.float32], start: NDArray[np.int64], size: int
) -> NDArray[np.float32]:
    taken: NDArray[np.float32] = samples[start[:, None] + np.arange(size)]
    return taken


def _density(frames: NDArray[np.float32], rate_hz: float) -> Floats:
    """One-sided power density of each frame, shape (frames, bins)."""
    size = frames.shape[1]
    angle = 2.0 * np.pi * np.arange(size) / size
    window = sum(term * np.cos(number * angle) for number, term in enumerate(_WINDOW))
    window = np.asarray(window, np.float32)
    lines = fft.rfft(frames * window, axis=1)
    scale = 2.0 / (rate_hz * float(np.sum(window.astype(np.float64) ** 2)))
    return np.asarray(scale * (lines.real.astype(np.float64) ** 2 + lines.imag**2), np.float64)
