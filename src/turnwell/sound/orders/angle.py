"""Resamples a stretch of sound from equal steps of time to equal steps of the shaft's angle.

A stretch is cut into sections in which the speed falls by at most a fifth. Each section is limited
to the orders that are wanted and to twice their rate of sampling by one Fourier transform, so that
nothing folds when the shaft slows down, and read between its samples by a Kaiser-windowed sinc of
eight points. The error of that reading is below -58 dB of a line at the upper end of the band and
below -70 dB in its lower half.

References
----------
Order tracking by resampling: [FYFE1997]. Kaiser's window: [KAISER1974].
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import ceil, pi

import numpy as np
from numpy.typing import NDArray
from scipy import fft
from scipy.special import i0

from turnwell.sound.speed.turning import Turning

__all__ = ["Sound", "Turned", "clipped", "turned", "turns_of"]

Floats = NDArray[np.float64]
Samples = NDArray[np.float32]

_TAPS = 8
_PHASE_BITS = 12
_PHASES = 1 << _PHASE_BITS
_KAISER = 5.3
_OVERSAMPLED = 2.0
_FALL = 0.8
_LONGEST_SECTION = 1 << 17
_PAD = 128
_ROLL_OFF = 0.06
_AT_ONCE = 1 << 14


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Samples with their rate and the instant of the first.

    Parameters
    ----------
    samples : array of float32, shape (n,)
    rate_hz, start_s : float
    """

    samples: Samples
    rate_hz: float
    start_s: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """Sound at equal steps of the shaft's angle.

    Parameters
    ----------
    samples : array of float32, shape (turns, per_turn)
        One row a turn.
    rotation_hz : array, shape (turns,)
        Rotation frequency in each turn.
    """

    samples: Samples
    rotation_hz: Floats

    @property
    def per_turn(self) -> int:
        """Samples in a turn."""
        return int(self.samples.shape[1])


def turns_of(turning: Turning) -> Floats:
    """Give the turns of the shaft since the first instant, at every instant of a stretch."""
    speed = turning.rotation_hz
    return np.concatenate(
        [[0.0], np.cumsum(0.5 * np.diff(turning.time_s) * (speed[1:] + speed[:-1]))]
    )


def clipped(turning: Turning, start_s: float, stop_s: float) -> Turning | None:
    """Give the part of a stretch between two instants; None when nothing is left."""
    start_s, stop_s = max(start_s, turning.time_s[0]), min(stop_s, turning.time_s[-1])
    if not start_s < stop_s:
        return None
    inside = (turning.time_s > start_s) & (turning.time_s < stop_s)
    time_s = np.concatenate([[start_s], turning.time_s[inside], [stop_s]])
    return Turning(
        turning.kind,
        time_s,
        np.interp(time_s, turning.time_s, turning.rotation_hz),
        np.interp(time_s, turning.time_s, turning.sd_hz),
    )


def turned(
    sound: Sound, turning: Turning, *, per_turn: int, highest_order: float, edge_hz: float
) -> Turned:
    """Resample a stretch to equal steps of angle, whole turns only.

    Parameters
    ----------
    sound : Sound
    turning : Turning
        Rotation frequency, > 0 at every instant.
    per_turn : int
        Samples in a turn; more than twice `highest_order`.
    highest_order : float
        Orders above it are taken out, as far as a section's change of speed allows.
    edge_hz : float
        Frequencies above it are taken out.
    """
    turns = turns_of(turning)
    last_s = sound.start_s + (sound.samples.size - 1) / sound.rate_hz
    heard = clipped(turning, sound.start_s, last_s)
    if heard is None:
        return Turned(np.empty((0, per_turn), np.float32), np.empty(0))
    first, last = (float(np.interp(t, turning.time_s, turns)) for t in heard.time_s[[0, -1]])
    whole = np.arange(ceil(first - 1e-9), int(last + 1e-9) + 1, dtype=np.float64)
    count = max(whole.size - 1, 0)
    angle = whole[:1] + np.arange(count * per_turn) / per_turn
    at_s = _instants(turning, turns, angle)
    speed = np.interp(at_s[::per_turn], turning.time_s, turning.rotation_hz)
    samples = np.empty(angle.size, np.float32)
    most = highest_order * np.maximum.accumulate(speed[::-1])[::-1] if count else speed
    for part in _sections(speed, sound.rate_hz):
        inner = slice(part.start * per_turn, part.stop * per_turn)
        band_hz = min(edge_hz, float(most[part.start]))
        _read(sound, at_s[inner], band_hz, samples[inner])
    return Turned(samples.reshape(count, per_turn), speed)


def _instants(turning: Turning, turns: Floats, angle: Floats) -> Floats:
    """Instants at which the shaft stands at angles (in turns); exact for a speed that is straight.

    Between two instants the turns are f t + s t²/2; the root is written so that it holds for s = 0.
    """
    left = np.clip(np.searchsorted(turns, angle, side="right") - 1, 0, turns.size - 2)
    speed = turning.rotation_hz
    slope = np.diff(speed) / np.diff(turning.time_s)
    ahead = angle - turns[left]
    root = np.sqrt(np.maximum(speed[left] ** 2 + 2.0 * slope[left] * ahead, 0.0))
    instants: Floats = turning.time_s[left] + 2.0 * ahead / np.maximum(speed[left] + root, 1e-9)
    return instants


def _sections(speed: Floats, rate_hz: float) -> Iterator[slice]:
    """Yield runs of turns in which the speed changes little and the samples are bounded."""
    begin = 0
    elapsed = np.concatenate([[0.0], np.cumsum(rate_hz / np.maximum(speed, 1e-9))])
    while begin < speed.size:
        slow = np.flatnonzero(speed[begin:] < _FALL * speed[begin])
        fast = np.flatnonzero(speed[begin:] > speed[begin] / _FALL)
        end = begin + min(slow[0] if slow.size else speed.size, fast[0] if fast.size else 1 << 40)
        full = int(np.searchsorted(elapsed, elapsed[begin] + _LONGEST_SECTION)) - 1
        end = max(min(int(end), full, speed.size), begin + 1)
        yield slice(begin, end)
        begin = end


def _read(sound: Sound, at_s: Floats, band_hz: float, into: Samples) -> None:
    """Limit the sound to a band and read it at instants."""
    place = (at_s - sound.start_s) * sound.rate_hz
    first = max(int(place[0]) - _PAD, 0)
    part = sound.samples[first : min(int(place[-1]) + _PAD, sound.samples.size)]
    size = fft.next_fast_len(part.size, real=True)
    lines = fft.rfft(part, size)
    share = min(band_hz * (1.0 + _ROLL_OFF) / sound.rate_hz, 0.5)
    kept = min(int(share * size) + 1, lines.size)
    edge = np.arange(kept) * (sound.rate_hz / size / band_hz)
    lines = lines[:kept] * _rolled_off(edge).astype(np.float32)
    finer = fft.next_fast_len(max(ceil(_OVERSAMPLED * 2.0 * share * size), 4 * _TAPS), real=True)
    padded = np.zeros(finer // 2 + 1, lines.dtype)
    padded[:kept] = lines[: padded.size]
    fine = fft.irfft(padded, finer) * np.float32(finer / size)
    place = (place - first) * (finer / size)
    table, windows = _table(), np.lib.stride_tricks.sliding_window_view(fine, _TAPS)
    for begin in range(0, place.size, _AT_ONCE):
        chunk = (place[begin : begin + _AT_ONCE] * _PHASES + 0.5).astype(np.int64)
        left, phase = chunk >> _PHASE_BITS, chunk & (_PHASES - 1)
        left = np.clip(left - _TAPS // 2 + 1, 0, len(windows) - 1)
        weight = table.take(phase, axis=0)
        np.einsum("ij,ij->i", windows[left], weight, out=into[begin : begin + chunk.size])


def _rolled_off(edge: Floats) -> Floats:
    """Gain of the band limit: 1 up to its edge, then half a cosine down to 0; it rings little."""
    down = np.clip((edge - 1.0) / _ROLL_OFF, 0.0, 1.0)
    gain: Floats = 0.5 + 0.5 * np.cos(pi * down)
    return gain


@cache
def _table() -> Samples:
    """Weights of eight neighbouring samples for every 1/4096 of the way between two of them."""
    away = np.arange(_PHASES)[:, None] / _PHASES - np.arange(1 - _TAPS // 2, _TAPS // 2 + 1)
    inside = np.maximum(1.0 - (away / (_TAPS / 2.0)) ** 2, 0.0)
    weight = np.sinc(away) * i0(_KAISER * np.sqrt(inside)) / i0(_KAISER)
    # A constant stays what it is.
    return np.asarray(weight / weight.sum(axis=1, keepdims=True), np.float32)
